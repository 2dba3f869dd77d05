"""A plan as plain data: the JSON that scripts rely on."""
