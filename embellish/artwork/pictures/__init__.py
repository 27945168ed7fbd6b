"""Pictures (PNG, JPEG) traced into regions."""
