"""What is read and written as sound."""
