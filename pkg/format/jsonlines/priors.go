package jsonlines

const (
	deepest  = 8        // 1; objects in objects. Origin: assumed
	mostKeys = 400      // 1; columns. Origin: assumed
	headSize = 64 << 10 // byte; whose keys are columns, and the longest line. Origin: assumed
)
