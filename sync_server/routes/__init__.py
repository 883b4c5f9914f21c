"""How the server is reached over HTTP."""
