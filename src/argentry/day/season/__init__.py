"""A season at a place: the light of whole weather years, and the plates their days hold."""
