"""An invented household and a loopback room in which to meet the assistant."""
