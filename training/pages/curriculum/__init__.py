"""Writing programmes: drafts, their preview, publishing, comparing. What is published is read in `board.curriculum`."""
