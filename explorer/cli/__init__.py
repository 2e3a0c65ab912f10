"""The command line: typer; the only place that prints or knows an exit code."""
