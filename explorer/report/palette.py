"""The colours of pages, diagrams and charts, in one place; contrasts are tested (WCAG 2.2)."""

INK = "#1f2a44"
PAPER = "#fbf9f4"
OCHRE = "#8a5a00"  # the mover does better
PLUM = "#7a2e5d"  # the mover does worse
MUTED = "#5d6474"  # too few to say
RULE = "#8b8578"  # lines that carry a meaning: axes, frames
