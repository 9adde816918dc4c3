"""What can be asked of the desk: one table, of keys, buttons, sticks, tooltips and the help page."""
