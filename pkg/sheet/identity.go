package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"path"
	"slices"
	"strings"
	"time"
)

// Log is what the sheet must know of a log.
type Log struct {
	Name   string // short and of its own in a call, "sport"
	Path   string // as given
	SHA256 string // of the unpacked bytes, in hex
	Bytes  int64  // unpacked
	// Prefix returns the SHA-256 of the first n unpacked bytes, in hex. It is asked
	// where the log may be one of the sheet that has grown; nil where it cannot be had.
	Prefix func(n int64) (string, error)
	Also   []Alias // copies of it, by whose names it is known as well
}

// Alias is a further name of a log.
type Alias struct {
	Name string // short
	Path string // as given
}

// Run is what the sheet must know of a run.
type Run struct {
	ID     string    // "sport#2"; what follows the # is its kind in letters and its number among those of its log
	Log    int       // index of its log in the call
	Launch time.Time // UTC; on the first day of the year 1 where the log has no date
}

// fillLogs checks the entries of logs and takes them over.
func (s *Sheet) fillLogs(ws []wireLog) []error {
	var errs []error
	names, sums := map[string]int{}, map[string]int{}
	for i, written := range ws {
		if len(errs) >= mostMistakes {
			return errs
		}
		e := written.LogEntry
		e.line = s.text.Header("log", i)
		e.Name, e.WitnessOf = strings.TrimSpace(e.Name), strings.TrimSpace(e.WitnessOf)
		e.SHA256 = strings.ToLower(strings.TrimSpace(e.SHA256))
		c := &checker{s: s, table: "log.", from: e.line}
		switch first, twice := names[e.Name]; {
		case e.Name == "":
			errs = append(errs, s.ErrorAt(e.line, "a log has no name"))
		case twice:
			errs = append(errs, s.ErrorAt(e.line, "log %q is already listed on line %d", e.Name, first))
		}
		if first, twice := sums[e.SHA256]; twice && e.SHA256 != "" {
			c.fault("sha256", "the log of this sha256 is already listed on line %d", first)
		}
		names[e.Name], sums[e.SHA256] = e.line, e.line
		if written.Bytes != nil {
			e.Bytes = *written.Bytes
			c.number("bytes", float64(e.Bytes), e.Bytes > 0, "the length of the log's unpacked bytes")
		}
		if sum, err := hex.DecodeString(e.SHA256); err != nil || e.SHA256 != "" && len(sum) != sha256.Size {
			c.fault("sha256", "sha256 = %q: want 64 hex digits", e.SHA256)
		}
		if (e.SHA256 != "") != (written.Bytes != nil) {
			errs = append(errs, s.ErrorAt(e.line, "log %q: sha256 and bytes make its identity together; one of them is missing", e.Name))
		}
		s.Logs = append(s.Logs, e)
		errs = append(errs, c.errs...)
	}
	for _, e := range s.Logs {
		if e.WitnessOf != "" {
			errs = append(errs, s.checkWitness(e)...)
		}
	}
	return errs
}

func (s *Sheet) checkWitness(e LogEntry) []error {
	i := slices.IndexFunc(s.Logs, func(o LogEntry) bool { return o.Name == e.WitnessOf })
	text := ""
	switch {
	case e.WitnessOf == e.Name:
		text = "log %[1]q is named as the witness of itself"
	case i < 0:
		text = "witness_of = %[2]q: no [[log]] has this name"
	case e.Separate:
		text = "log %[1]q cannot be separate and a witness of %[2]q"
	case s.Logs[i].WitnessOf != "":
		text = "witness_of = %[2]q: that log is a witness itself; name the log that both were recorded beside"
	default:
		return nil
	}
	return []error{s.ErrorAt(s.text.Line("log.witness_of", e.line), text, e.Name, e.WitnessOf)}
}

// fits reports whether a name can mean a log: its short name, its path or the last
// elements of that, with or without its ending.
func fits(name string, l *Log) bool {
	return names(name, l.Name, l.Path) ||
		slices.ContainsFunc(l.Also, func(a Alias) bool { return names(name, a.Name, a.Path) })
}

func names(name, short, p string) bool {
	if name == "" {
		return false
	}
	if name == short {
		return true
	}
	name, p = slashes(name), slashes(p)
	ends := func(p string) bool { return p == name || strings.HasSuffix(p, "/"+name) }
	bare := withoutEnding(p)
	return ends(p) || ends(bare) || path.Ext(p) == packed && ends(withoutEnding(bare))
}

// packed is the ending that a packed log has after that of its format.
const packed = ".gz"

func withoutEnding(p string) string { return strings.TrimSuffix(p, path.Ext(p)) }

func slashes(p string) string { return strings.ReplaceAll(p, `\`, "/") }

// whereIs names a log for a message.
func whereIs(l *Log) string {
	if l.Path == "" {
		return l.Name
	}
	return l.Path
}
