package can

const (
	mostPayload  = 64       // byte; data of a frame of CAN FD. Origin: ISO 11898-1
	epochSeconds = 1e8      // s; from which a stamp counts from 1970: three years of running. Origin: assumed
	longestLine  = 64 << 10 // byte; beyond it the rest of a line is passed over. Origin: assumed
)
