"""Tables of an order and of a card, as text, CSV and a spreadsheet."""
