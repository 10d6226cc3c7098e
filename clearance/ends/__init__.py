"""How large each kind of number can be, and how large it is on most cars."""
