"""What the server does; nothing here knows the web framework."""
