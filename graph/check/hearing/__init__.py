"""The sound of a finished master: whether it is there, how loud, and what is wrong with its channels."""
