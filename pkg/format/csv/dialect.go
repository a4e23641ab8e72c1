package csv

import (
	"bytes"
	"iter"
	"slices"
	"strings"

	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
)

// dialect is how a log's table is written.
type dialect struct {
	delim    byte
	decimal  byte
	header   int  // line of the header, 0 where there is none
	data     int  // first line of data
	fields   int  // usual number of fields of a row
	strict   bool // and nearly all rows have it
	headings []header.Heading
	rows     [][][]byte // the sample: rows of the head, split
}

// delimiters in the order of preference: a sign that is rarer in text wins over
// a commoner one where both cut the rows evenly.
var delimiters = []byte{'\t', ';', '|', ',', ' '}

// findDialect finds delimiter, decimal sign, header, units line and the first
// rows, as far as the mapping does not say.
func findDialect(l *text.Lines, m *Mapping) (best *dialect, ok bool) {
	ls := l.Head(sampleRows + foreword)
	bestScore := 0.0
	for _, delim := range delimiters {
		if m.delim != 0 && m.delim != delim {
			continue
		}
		ahead := nextDelimiter
		for _, dec := range []byte{'.', ','} {
			if dec == ',' && delim == ',' && !quotedCommas(ls) || m.decimal != 0 && m.decimal != dec {
				continue
			}
			d := &dialect{delim: delim, decimal: dec}
			if s := d.fit(ls); s > bestScore*ahead {
				best, bestScore, ahead = d, s, nextDecimal
			}
		}
	}
	if best == nil {
		return nil, false
	}
	best.findRows(ls, m.header)
	return best, len(best.rows) > 0
}

// quotedCommas reports whether cells like "12,5" stand in quotes.
func quotedCommas(ls []text.Line) bool {
	n := 0
	for _, l := range ls {
		for _, q := range bytes.Split(l.Text, []byte(`"`)) {
			whole, fraction, _ := bytes.Cut(q, []byte(","))
			if text.AllDigits(bytes.TrimLeft(whole, "-")) && text.AllDigits(fraction) {
				n++
			}
		}
	}
	return n > len(ls)/2
}

// split gives the lines that are no comments and their fields, which are valid
// until the next.
func (d *dialect) split(ls []text.Line) iter.Seq2[int, [][]byte] {
	return func(yield func(int, [][]byte) bool) {
		var f [][]byte
		for i, l := range ls {
			if l.Comment {
				continue
			}
			if f = text.Split(l.Text, d.delim, f[:0]); !yield(i, f) {
				return
			}
		}
	}
}

// fit says how well the dialect reads the lines: the share of rows with the
// usual number of fields, times the share of cells that are numbers or, a little
// less, times and numbers with a unit. It sets fields.
func (d *dialect) fit(ls []text.Line) float64 {
	counts, n := map[int]int{}, 0
	for _, f := range d.split(ls) {
		counts[len(f)]++
		n++
	}
	for k, c := range counts {
		if k >= 2 && (d.fields == 0 || c > counts[d.fields] || c == counts[d.fields] && k > d.fields) {
			d.fields = k
		}
	}
	have := counts[d.fields]
	d.strict = have >= n*strictShare/100
	cells, good := 0, 0.0
	for _, f := range d.split(ls) {
		if len(f) != d.fields {
			continue
		}
		for _, c := range f {
			if len(c) == 0 {
				continue
			}
			cells++
			switch _, rest, ok := text.Number(c, d.decimal); {
			case ok && len(rest) == 0:
				good++
			case ok && len(rest) <= unitBytes && rest[0] != '.' && rest[0] != ',', bytes.IndexByte(c, ':') > 0:
				good += nearlyNumber
			}
		}
	}
	if d.fields == 0 || cells == 0 {
		return 0
	}
	return float64(have) / float64(n) * (good/float64(cells) + anyCell)
}

// isRow reports whether the fields look like data: at least one number or time,
// and numbers or times in a third of what is not empty.
func (d *dialect) isRow(f [][]byte) bool {
	full, good := 0, 0
	for _, c := range f {
		if text.Missing(c) {
			continue
		}
		full++
		_, rest, ok := text.Number(c, d.decimal)
		if ok = ok && (len(rest) == 0 || len(rest) <= unitBytes && rest[0] != '.' && rest[0] != '/'); !ok && len(c) < stampBytes {
			_, ok = text.ParseStamp(c)
		}
		if ok {
			good++
		}
	}
	return good > 0 && good*3 >= full
}

// findRows finds where the rows begin, which is where three follow each other,
// and which line before them names the columns; want is the header's line, 0 for
// none and -1 where it is to be found.
func (d *dialect) findRows(ls []text.Line, want int) {
	first, run := len(ls), 0
	for i, f := range d.split(ls) {
		switch near := len(f) == d.fields || !d.strict && len(f) >= 2; {
		case ls[i].Num <= want || !near || !d.isRow(f):
			run = 0
		case run == 0:
			first, run = i, 1
		default:
			run++
		}
		if run == rowsInARow {
			break
		}
	}
	if run == 0 {
		first = len(ls)
	}
	if want != 0 {
		d.chooseHeader(ls[:first], want)
	}
	for i, f := range d.split(ls[first:]) {
		if i == 0 {
			d.data = ls[first].Num
		}
		if d.rows = append(d.rows, slices.Clone(f)); len(d.rows) == sampleRows {
			break
		}
	}
}

// chooseHeader looks at the lines before the first row for the header and a
// line of units under it or above.
func (d *dialect) chooseHeader(ls []text.Line, want int) {
	best, at := 1, -1
	for i := max(0, len(ls)-headerReach); i < len(ls); i++ {
		switch score := d.headerScore(ls[i].Text); {
		case want > 0 && ls[i].Num == want:
			at = i
		case want < 0 && score >= best:
			best, at = score, i
		}
	}
	if at < 0 {
		return
	}
	d.header = ls[at].Num
	names := d.headerCells(ls[at].Text)
	var units []string
	for i := at + 1; units == nil && i < len(ls) && i <= at+unitsReach; i++ {
		if cells := d.headerCells(ls[i].Text); header.AreUnits(cells) {
			units = cells
		}
	}
	if units == nil && at > 0 && !header.AreUnits(names) {
		if cells := d.headerCells(ls[at-1].Text); len(cells) == len(names) && header.AreUnits(cells) {
			units = cells
		}
	}
	units = append(units, make([]string, len(names))...)
	for i, n := range names {
		d.headings = append(d.headings, header.Parse(n, units[i]))
	}
}

func (d *dialect) headerCells(line []byte) []string {
	line = bytes.TrimLeft(text.Trim(line), "#%!")
	line = bytes.TrimPrefix(line, []byte("//"))
	var out []string
	for _, c := range text.Split(line, d.delim, nil) {
		out = append(out, text.Decode(c))
	}
	return out
}

// headerScore counts what a line says of the columns: names that mean
// something, then any text in the right number of cells.
func (d *dialect) headerScore(line []byte) int {
	cells := d.headerCells(line)
	if len(cells) < 2 || len(cells) < d.fields-missingNames {
		return 0
	}
	score, words := 0, 0
	for _, c := range cells {
		if header.Parse(c, "").Role != header.NoRole {
			score += meantName
		}
		if strings.ContainsFunc(c, func(r rune) bool { return r > '9' }) {
			words++
		}
	}
	if words*2 < len(cells) && score == 0 {
		return 0
	}
	if header.AreUnits(cells) { // at most the only names there are
		return 1
	}
	if len(cells) == d.fields {
		score += rightNumber
	}
	return score + words*2/len(cells)
}
