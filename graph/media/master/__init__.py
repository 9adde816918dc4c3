"""What is written: masters and stills, how they are resumed and read back."""
