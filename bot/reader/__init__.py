"""Texts to facts: what a grower types, read exactly or asked about."""
