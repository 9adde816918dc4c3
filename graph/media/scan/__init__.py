"""What is read as pictures: movies and numbered stills, by exact frame number."""
