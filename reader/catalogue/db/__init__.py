"""The database: its tables, their versions, and the parts that stand in them."""
