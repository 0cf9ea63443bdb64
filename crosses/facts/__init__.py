"""What is declared of each record of the grower's side."""
