"""Terms of the Tarn Valley Record Office; the files beside this one hold them."""
