"""The ledger on disk: SQLite by default, PostgreSQL by URL."""
