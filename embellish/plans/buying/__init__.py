"""What to buy, from whom: the cheapest whole packs that never fall short."""
