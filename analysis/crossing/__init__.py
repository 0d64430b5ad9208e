"""What one crossing is worth: depth, loads, episodes, breakouts, in numbers, words and figures."""
