"""Pure statistics: intervals, clustering, expected scores, trends. No chess, no database."""
