"""Documents of an order: what the shop works from, and what the customer reads."""
