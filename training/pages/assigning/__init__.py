"""Who works with which family, and the way in for somebody who has to see one now."""
