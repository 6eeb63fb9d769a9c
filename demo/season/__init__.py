"""An invented household that lives through a season, and what it writes."""
