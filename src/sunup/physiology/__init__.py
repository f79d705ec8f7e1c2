"""The animal: what her ovaries do, hour by hour, under an order table. Knows no ranch, no date."""
