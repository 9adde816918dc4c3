"""The plug-in host: found by what they say of themselves, imported when asked for, checked before used."""
