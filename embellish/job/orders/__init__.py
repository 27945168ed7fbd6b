"""Orders: who gets what, counted, bought, packed and priced together."""
