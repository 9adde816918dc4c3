"""Two sticks with their levers, or a gamepad, turned into changes of controls."""
