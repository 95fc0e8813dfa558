"""The database's versions, oldest first, run by Alembic when a catalogue is opened."""
