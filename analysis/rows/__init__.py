"""The same measures, reduced while eight rows march."""
