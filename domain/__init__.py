"""What a grower knows, computed: pure functions over plain data, no I/O, no clock, no global state."""
