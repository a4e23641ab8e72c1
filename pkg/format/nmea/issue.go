package nmea

import "fromrest/pkg/diag"

// issue numbers what can be wrong with a place in a log.
type issue uint8

const (
	issueNone issue = iota
	issueText
	issueBinary
	issueCut
	issueMalformed
	issueJunkBefore
	issueJunkAfter
	issueNUL
	issueChecksum
	issueChecksumOther
	issueNoChecksum
	issueNoChecksumOther
	issueNoFix
	issueNoSpeed
	issueNoTime
	issueBadDate
	issueMode
	issueSigned
	issueNavStatus
	issueLeap
	issueVTG
	issueVoidPosition
	issueField
	numIssues
)

const mismatch = "checksum mismatch in a %s: it says %02X, its characters give %02X"

// issues gives each its kind, effect and text; the first %s is the sentence type
// or an instant.
var issues = [numIssues]struct {
	kind   string
	effect diag.Effect
	text   string
}{
	issueText:       {"not-nmea", diag.Note, "a line that is not an NMEA sentence was passed over"},
	issueBinary:     {"binary", diag.Note, "bytes that are not text were passed over"},
	issueCut:        {"cut-sentence", diag.Dropped, "a %s sentence is cut short"},
	issueMalformed:  {"malformed", diag.Dropped, "a field of the %s sentence cannot be read"},
	issueJunkBefore: {"junk-before", diag.Note, "characters in front of the %s sentence were passed over"},
	issueJunkAfter:  {"junk-after", diag.Note, "characters after the %s sentence's checksum were passed over"},
	issueNUL:        {"nul-bytes", diag.Note, "NUL bytes were passed over"},
	issueChecksum:   {diag.Checksum, diag.Dropped, mismatch},
	issueNoChecksum: {diag.NoChecksum, diag.Dropped, "a %s sentence has no checksum, unlike others of its type"},
	// Of types that carry nothing a recording holds: nothing was lost.
	issueChecksumOther:   {diag.Checksum, diag.Note, mismatch},
	issueNoChecksumOther: {diag.NoChecksum, diag.Note, "a %s sentence has no checksum"},
	issueNoFix:           {diag.NoFix, diag.Note, "the receiver had no fix at this instant"},
	issueNoSpeed:         {diag.NoSpeed, diag.Note, "the fix has no speed: the speed field is empty"},
	issueNoTime:          {diag.NoTime, diag.Dropped, "a %s sentence has no time"},
	issueBadDate:         {"bad-date", diag.Note, "the date of the %s sentence is not a date; its time is kept"},
	issueMode:            {diag.Mode, diag.Suspect, "the receiver calls the %s fix estimated, manual, simulated or not valid"},
	issueSigned:          {"signed-angle", diag.Suspect, "a position has a sign as well as a hemisphere letter; the sign was believed"},
	issueNavStatus:       {"navigation-status", diag.Note, "the receiver gives no navigational status with its position"},
	issueLeap:            {"leap-second", diag.Suspect, "a fix inside a leap second was passed over; times across it are one second short"},
	issueVTG:             {"speed-mismatch", diag.Note, "VTG and RMC of one instant differ in speed; RMC was taken"},
	issueField:           {diag.Value, diag.Note, "a secondary field of the %s sentence cannot be read and was left out"},
	issueVoidPosition:    {"void-with-position", diag.Suspect, "RMC is void while another sentence gives a position; no speed was taken"},
}

// note adds an issue that counts in the log: args are those of its text, which is
// only made while the list keeps it.
func (a *assembler) note(is issue, line int, args ...any) {
	a.counts[is]++
	d := &issues[is]
	a.rec.Problems.Addf(d.kind, d.effect, line, d.text, args...)
}
