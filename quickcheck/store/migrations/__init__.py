"""Steps from an empty database to the tables of today; Alembic runs them in order."""
