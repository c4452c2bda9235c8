"""First cost, energy prices and life-cycle cost."""
