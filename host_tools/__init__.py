"""What works with a plan on this computer: model, traces, trials, pictures, command line."""
