package kinds

const (
	fewestOfKind = 3        // 1; rows of a kind in the first 64 KiB. Origin: assumed
	mostKinds    = 16       // 1; kinds. Origin: assumed
	longestName  = 24       // byte; longest name of a kind. Origin: assumed
	evenKinds    = 0.95     // 1; share of lines that have as many fields as others of their kind. Origin: assumed
	headSize     = 64 << 10 // byte; that tells the kinds, and the longest line. Origin: assumed
)
