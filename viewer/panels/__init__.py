"""The parts of the desk's window: functions of the desk and of what is on the panels. None knows GL."""
