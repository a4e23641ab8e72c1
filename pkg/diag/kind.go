package diag

// Kinds that several readers share, so that one question ("how many rows
// repeat a time?") has one answer whatever the format. Kinds that only one
// format can have are named in its reader; docs/formats.md lists all.
const (
	TimeRepeated = "time-repeated" // the time is that of the record before
	TimeBackward = "time-backward" // one or a few records are behind those around them
	TimeLeap     = "time-leap"     // one or a few records are far ahead of those around them
	TimeOrder    = "time-order"    // a record was written a little late and went to its place
	TimeStep     = "time-step"     // time steps for good: what follows is a part of its own
	ClockRestart = "clock-restart" // a clock that counts from any zero begins again
	NoTime       = "no-time"       // the record has no time that can be read
	NoFix        = "no-fix"        // the receiver had no position
	NoSpeed      = "no-speed"      // a position without a speed
	Value        = "value"         // one quantity cannot be read; the rest is kept
	Mode         = "mode"          // the receiver itself doubts the fix
	Checksum     = "checksum"      // a checksum does not fit
	NoChecksum   = "no-checksum"   // a checksum is missing
	Truncated    = "truncated"     // the log ends inside a record
	CutOff       = "cut-off"       // the compressed log ends before its end
)
