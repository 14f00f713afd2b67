"""Tables, sheets, weather files and archives: in and out of the book, hostile input held off."""
