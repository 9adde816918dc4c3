"""Long work of the desk, each in a process of its own: what is asked of it, what it says, who listens."""
