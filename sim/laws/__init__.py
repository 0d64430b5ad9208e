"""The laws of matter: gas, oil, soil, tyres, stones."""
