"""Pictures of scan and master: read, drawn, and measured."""
