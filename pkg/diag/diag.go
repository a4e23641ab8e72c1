// Package diag describes problems found in an input: where, what they cost and
// why. A reader that meets a damaged record notes a problem and goes on; the
// problems travel with the results to every output.
//
// A List keeps the first 100 problems of each kind and counts all of them, so
// that a log with a million bad lines costs no more than one with a hundred.
package diag

import "fmt"

// Effect says what a problem cost.
type Effect string

// The effects, from the worst down.
const (
	Dropped Effect = "dropped" // the record is lost
	Suspect Effect = "suspect" // the record is kept but may be wrong
	Note    Effect = "note"    // nothing lost; the reader should know
)

// Problem is one defect of an input.
type Problem struct {
	Kind   string // short stable code in kebab-case, such as "checksum"
	Effect Effect
	Line   int    // 1-based line; 0 where the input has no lines
	Byte   int64  // offset of the record's first byte, used when Line is 0
	Text   string // one sentence, lower case, no full stop
}

// Place prints "line 12" or "byte 3456".
func (p Problem) Place() string {
	if p.Line > 0 {
		return fmt.Sprintf("line %d", p.Line)
	}
	return fmt.Sprintf("byte %d", p.Byte)
}

// Keep is how many problems of one kind a List keeps.
const Keep = 100

// Group is all problems of one kind and effect.
type Group struct {
	Kind   string
	Effect Effect
	Count  int       // all, kept or not
	Kept   []Problem // the first Keep, in the order met
}

// First returns the first problem of the group.
func (g *Group) First() Problem { return g.Kept[0] }

// List collects problems by kind. The zero value is ready to use. It is plain data,
// so that it can be remembered. What it keeps is Discreet.
type List struct {
	ByKind []*Group // in the order their first problem was met
}

// group returns the group of a kind and effect, which begins here if it is new.
// A list has few, so that looking through them is quick.
func (l *List) group(kind string, effect Effect) *Group {
	for _, g := range l.ByKind {
		if g.Kind == kind && g.Effect == effect {
			return g
		}
	}
	g := &Group{Kind: kind, Effect: effect}
	l.ByKind = append(l.ByKind, g)
	return g
}

// Add notes a problem.
func (l *List) Add(p Problem) { l.addf(p, "%s", []any{p.Text}) }

// AddMany notes a problem that n records share.
func (l *List) AddMany(p Problem, n int) {
	if n > 0 {
		l.Add(p)
		l.group(p.Kind, p.Effect).Count += n - 1
	}
}

// Addf notes a problem at a line. The text is only made where it is kept.
func (l *List) Addf(kind string, effect Effect, line int, format string, args ...any) {
	l.addf(Problem{Kind: kind, Effect: effect, Line: line}, format, args)
}

// AddfByte notes a problem at an offset in bytes. The text is only made where it
// is kept.
func (l *List) AddfByte(kind string, effect Effect, at int64, format string, args ...any) {
	l.addf(Problem{Kind: kind, Effect: effect, Byte: at}, format, args)
}

func (l *List) addf(p Problem, format string, args []any) {
	g := l.group(p.Kind, p.Effect)
	g.Count++
	if len(g.Kept) < Keep {
		p.Text = Discreet(fmt.Sprintf(format, args...))
		g.Kept = append(g.Kept, p)
	}
}

// Merge appends the problems of other, keeping order and counts.
func (l *List) Merge(other *List) {
	for _, o := range other.ByKind {
		g := l.group(o.Kind, o.Effect)
		g.Count += o.Count
		g.Kept = append(g.Kept, o.Kept[:min(len(o.Kept), Keep-len(g.Kept))]...)
	}
}

// Groups returns the groups in the order their first problem was met.
func (l *List) Groups() []*Group { return l.ByKind }

// Count returns how many problems have the given effect.
func (l *List) Count(effect Effect) int {
	n := 0
	for _, g := range l.ByKind {
		if g.Effect == effect {
			n += g.Count
		}
	}
	return n
}
