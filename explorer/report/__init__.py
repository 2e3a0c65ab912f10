"""Answers as tables, pages, diagrams and files. Never sees the database."""
