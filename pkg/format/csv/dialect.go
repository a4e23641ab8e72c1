package csv

import (
	"bytes"
	"strings"
)

// dialect is how a log's table is written.
type dialect struct {
	delim    byte
	decimal  byte
	header   int // line of the header, 0 where there is none
	units    int // line of units under it, 0 where there is none
	data     int // first line of data
	fields   int // usual number of fields of a row
	strict   bool
	order    string // of dates, "" to be found
	headings []heading
	rows     [][][]byte // the sample: rows of the head, split
	rowLines []int
}

// sampleRows is how many rows of the head are looked at.
const sampleRows = 4000

// headLine is a line of the head.
type headLine struct {
	num  int
	text []byte
}

// headLines cuts the head into lines; the last one is left out where it may be
// cut.
func headLines(head []byte, eol byte, whole bool) []headLine {
	var out []headLine
	for num := 1; len(head) > 0 && len(out) < sampleRows+400; num++ {
		i := bytes.IndexByte(head, eol)
		if i < 0 {
			if !whole {
				break
			}
			i = len(head)
		}
		line := bytes.TrimRight(head[:i], "\r")
		if len(line) <= maxLine {
			out = append(out, headLine{num, line})
		}
		head = head[min(i+1, len(head)):]
	}
	return out
}

func isComment(line []byte) bool {
	line = trim(line)
	return len(line) == 0 || line[0] == '#' || line[0] == '%' || bytes.HasPrefix(line, []byte("//")) || line[0] == '!'
}

// delimiters in the order of preference: a sign that is rarer in text wins over
// a commoner one where both cut the rows evenly.
var delimiters = []byte{'\t', ';', '|', ',', ' '}

// findDialect finds delimiter, decimal sign, header, units line and the first
// row. A zero delim or decimal in want is found; header < 0 is found.
func findDialect(ls []headLine, want dialect) (*dialect, bool) {
	var best *dialect
	bestScore := 0.0
	for _, delim := range delimiters {
		if want.delim != 0 && want.delim != delim {
			continue
		}
		// A delimiter further down the list has to read the rows much better:
		// decimal commas cut rows evenly too.
		ahead := 1.3
		for _, dec := range []byte{'.', ','} {
			if dec == ',' && delim == ',' && !quotedCommas(ls) || want.decimal != 0 && want.decimal != dec {
				continue
			}
			d := &dialect{delim: delim, decimal: dec, order: want.order}
			if s := d.fit(ls); s > bestScore*ahead {
				best, bestScore, ahead = d, s, 1.02
			}
		}
	}
	if best == nil {
		return nil, false
	}
	best.findHeader(ls, want.header)
	return best, true
}

// quotedCommas reports whether cells like "12,5" stand in quotes.
func quotedCommas(ls []headLine) bool {
	n := 0
	for _, l := range ls {
		for _, q := range bytes.Split(l.text, []byte(`"`)) {
			if i := bytes.IndexByte(q, ','); i > 0 && allDigits(bytes.TrimLeft(q[:i], "-")) && allDigits(q[i+1:]) {
				n++
			}
		}
	}
	return n > len(ls)/2
}

// fit says how well the dialect reads the lines: the share of rows with the
// usual number of fields, times the share of cells that are numbers or times. It
// sets fields and the sample.
func (d *dialect) fit(ls []headLine) float64 {
	usual, have, n := d.usualFields(ls)
	if usual == 0 {
		return 0
	}
	d.fields = usual
	d.strict = have >= n*95/100
	var f [][]byte
	cells, good, other := 0, 0, 0
	for _, l := range ls {
		if isComment(l.text) {
			continue
		}
		f = split(l.text, d.delim, f[:0])
		if len(f) != usual {
			continue
		}
		for _, c := range f {
			if len(c) == 0 {
				continue
			}
			cells++
			switch _, rest, ok := parseNumber(c, d.decimal); {
			case ok && len(rest) == 0:
				good++
			case ok && len(rest) < 8 && rest[0] != '.' && rest[0] != ',':
				other++
			case bytes.IndexByte(c, ':') > 0:
				other++
			}
		}
	}
	if cells == 0 {
		return 0
	}
	return float64(have) / float64(n) * (float64(good) + 0.9*float64(other) + 0.2*float64(cells)) / float64(cells)
}

// usualFields is the number of fields that most of the n lines have, 0 where
// that is less than two, and how many have it.
func (d *dialect) usualFields(ls []headLine) (usual, have, n int) {
	counts := map[int]int{}
	var f [][]byte
	for _, l := range ls {
		if isComment(l.text) {
			continue
		}
		f = split(l.text, d.delim, f[:0])
		counts[len(f)]++
		n++
	}
	for k, c := range counts {
		if k >= 2 && (usual == 0 || c > counts[usual] || c == counts[usual] && k > usual) {
			usual = k
		}
	}
	return usual, counts[usual], n
}

// isRow reports whether the fields look like data: at least one number or time,
// and numbers or times in half of what is not empty.
func (d *dialect) isRow(f [][]byte) bool {
	full, good := 0, 0
	for _, c := range f {
		if missing(c) {
			continue
		}
		full++
		if _, rest, ok := parseNumber(c, d.decimal); ok && (len(rest) == 0 || len(rest) < 8 && rest[0] != '.' && rest[0] != '/') {
			good++
		} else if len(c) < 40 && bytes.ContainsAny(c, "0123456789") {
			if _, ok := parseStamp(c); ok {
				good++
			}
		}
	}
	return good > 0 && good*3 >= full
}

// findHeader finds where the rows begin and which line before them names the
// columns.
func (d *dialect) findHeader(ls []headLine, want int) {
	first := -1 // index into ls of the first of three rows that follow each other
	run := 0
	var f [][]byte
	for i, l := range ls {
		if isComment(l.text) {
			continue
		}
		f = split(l.text, d.delim, f[:0])
		near := len(f) == d.fields || !d.strict && len(f) >= 2
		if l.num > want && near && d.isRow(f) {
			if run == 0 {
				first = i
			}
			run++
			if run == 3 {
				break
			}
		} else {
			run = 0
		}
	}
	if run == 0 {
		first = len(ls)
	}
	d.chooseHeader(ls, first, want)
	for _, l := range ls[min(first, len(ls)):] {
		if isComment(l.text) {
			continue
		}
		d.rows = append(d.rows, split(l.text, d.delim, nil))
		d.rowLines = append(d.rowLines, l.num)
		if len(d.rows) == sampleRows {
			break
		}
	}
	if first < len(ls) {
		d.data = ls[first].num
	} else if len(ls) > 0 {
		d.data = ls[len(ls)-1].num + 1
	}
}

// chooseHeader looks at the lines before the first row for the header and a
// line of units.
func (d *dialect) chooseHeader(ls []headLine, first, want int) {
	if want == 0 { // the user says that there is none
		return
	}
	bestScore := 0
	bestAt := -1
	for i := max(0, first-60); i < min(first, len(ls)); i++ {
		if want > 0 && ls[i].num != want {
			continue
		}
		score := d.headerScore(ls[i].text)
		if want > 0 {
			score = 1
		}
		if score > 0 && score >= bestScore {
			bestScore, bestAt = score, i
		}
	}
	if bestAt < 0 {
		return
	}
	d.header = ls[bestAt].num
	names := d.headerCells(ls[bestAt].text)
	var units []string
	for i := bestAt + 1; i < min(first, len(ls)) && i <= bestAt+3; i++ {
		if cells := d.headerCells(ls[i].text); areUnits(cells) {
			units, d.units = cells, ls[i].num
			break
		}
	}
	if units == nil && bestAt > 0 && !areUnits(names) { // units above the names
		if cells := d.headerCells(ls[bestAt-1].text); len(cells) == len(names) && areUnits(cells) {
			units, d.units = cells, ls[bestAt-1].num
		}
	}
	d.headings = make([]heading, len(names))
	for i, n := range names {
		u := ""
		if i < len(units) {
			u = units[i]
		}
		d.headings[i] = parseHeading(n, u)
	}
}

func (d *dialect) headerCells(line []byte) []string {
	line = trim(line)
	line = bytes.TrimLeft(line, "#%!")
	line = bytes.TrimPrefix(line, []byte("//"))
	var out []string
	for _, c := range split(line, d.delim, nil) {
		out = append(out, decodeText(c))
	}
	return out
}

// headerScore counts what a line says of the columns: names that mean
// something, then any text in the right number of cells.
func (d *dialect) headerScore(line []byte) int {
	cells := d.headerCells(line)
	if len(cells) < 2 || len(cells) < d.fields-3 {
		return 0
	}
	score, text := 0, 0
	for _, c := range cells {
		if c == "" {
			continue
		}
		if h := parseHeading(c, ""); h.role != noRole {
			score += 10
		}
		if strings.ContainsFunc(c, func(r rune) bool { return r > '9' }) {
			text++
		}
	}
	if text*2 < len(cells) && score == 0 {
		return 0
	}
	if areUnits(cells) { // at most the only names there are
		return 1
	}
	if len(cells) == d.fields {
		score += 3
	}
	return score + text*2/len(cells)
}

// areUnits reports whether the cells are a line of units: most of what is not
// empty is a unit, and none is a column's usual name.
func areUnits(cells []string) bool {
	full, known, strong := 0, 0, 0
	for _, c := range cells {
		c = strings.Trim(c, " -\"")
		if c == "" {
			continue
		}
		full++
		if _, ok := unitNamed(c, noQuantity); ok {
			known++
			if len(unitKey(c)) < 5 {
				strong++
			}
		}
	}
	return strong >= 1 && known*2 > full
}
