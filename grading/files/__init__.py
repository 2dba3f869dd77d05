"""TOML and CSV read with every problem at once; the fields of tables; names."""
