"""Everything a plan is handed over as: drawings, tables and records (layer: outputs)."""
