"""One file a command; each parses, calls one workflow and renders."""
