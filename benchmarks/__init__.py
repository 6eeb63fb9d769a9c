"""What the program costs, each figure beside a plain way to do the same, measured in the same run."""
