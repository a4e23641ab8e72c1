package can

const (
	mostPayload     = 64       // byte; data of a frame of CAN FD. Origin: ISO 11898-1
	epochSeconds    = 1e8      // s; from which a stamp counts from 1970: three years of running. Origin: assumed
	fewestFrames    = 20       // 1; frames that tell whether stamps count from the frame before. Origin: assumed
	oftenBack       = 0.2      // 1; share of frames that step back in such a log: of random intervals a half. Origin: assumed
	longestDatabase = 64 << 20 // byte; of a database file that is read. Origin: assumed
	longestLine     = 64 << 10 // byte; beyond it the rest of a line is passed over. Origin: assumed
)
