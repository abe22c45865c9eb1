"""The data of the web in one database: SQLite beside the scenario, or any other that SQLAlchemy knows by address."""
