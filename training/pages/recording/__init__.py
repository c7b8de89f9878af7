"""Recording a demonstration: start, steps, outcome, signature."""
