"""What a person reads: the findings, the page, the drawings, the measuring sheet and the interview's letters."""
