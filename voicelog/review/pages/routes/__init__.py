"""The addresses that are answered, by what one comes for."""
