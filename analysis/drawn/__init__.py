"""What pages share: crossings as they read them, the unit's geometry, scripts that draw both, templates."""
