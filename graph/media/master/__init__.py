"""What is written: masters and stills, how they are gone on with and read back."""
