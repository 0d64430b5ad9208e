"""The setting job beside the window: pressures, precharge, press wheel, disc."""
