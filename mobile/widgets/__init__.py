"""The tablet's design system: theme, fonts and the widgets the screens are made of.

The widgets take plain values (text, numbers, keys) and dispatch plain events. They know no rule of
fitting and no wording of their own beyond the words on the keypads, which a screen can replace.
Every widget has a ``test_name``; input widgets dispatch ``on_edit(value)`` at each change a person
makes, and never for a value set by the program.
"""
