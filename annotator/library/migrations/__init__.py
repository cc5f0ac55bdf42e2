"""Steps that bring an older library's database to the tables of today; library/database.py runs them, each open, in one transaction."""
