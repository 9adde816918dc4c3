"""What the scopes count and where their marks stand: pictures in, arrays out, nothing drawn."""
