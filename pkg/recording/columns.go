package recording

// TrackOf returns a track over columns that a reader has already filled: nano
// are packed instants, strictly increasing, and every column that is not nil
// has a value for each of them. The slices are taken over, not copied, so that a
// reader of columns needs no second copy of a long log.
func TrackOf(nano []int64, cols [Columns][]float64) *Track {
	return &Track{nano: nano[:len(nano):len(nano)], cols: cols}
}
