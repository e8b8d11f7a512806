"""An axis of a machine, described in texts: on options, in a file or in a form."""
