"""The pages in the browser where a person hears, corrects and confirms; served to this machine."""
