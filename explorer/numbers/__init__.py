"""Pure statistics: intervals, clustering, expected scores, trends, tests. No chess, no database."""
