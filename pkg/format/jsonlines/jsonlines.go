// Package jsonlines reads a JSON object a line, or an array with a line for each object, as the
// table that package csv reads: a column for every key of the first 64 KiB, nested ones joined
// by dots.
//
// Reports of gpsd are told by their class: TPV alone is taken, whose units its protocol gives.
// What is said of units and of what is absent in package csv holds here.
//
// Limits: arrays in an object are passed over; a key that the head has not is left out and
// counted.
package jsonlines

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv"
	"fromrest/pkg/recording"
)

// objects turns lines of JSON, an object each, into a table that package csv reads: a
// column for every key of the head, nested ones joined by dots. Reports of gpsd are
// told by their class: TPV alone is taken, whose units its protocol gives.
type objects struct {
	in     *bufio.Reader
	keys   []string
	names  []string // of the columns, those of keys unless the protocol gives units
	gpsd   bool
	buf    []byte // of the table, to be given
	num    int
	err    error
	bad    problem
	noFix  problem
	unseen problem
	key    string // the first unseen
}

// problem counts lines, and where the first was.
type problem struct{ n, line int }

func (p *problem) at(line int) {
	if p.n++; p.n == 1 {
		p.line = line
	}
}

// gpsdColumns are the keys of a TPV report and their units, after gpsd_json(5): speed
// and velocities in m/s, altitudes in m, track in degrees from true north. Its error
// estimates are of unknown certainty, and left out.
var gpsdColumns = [][2]string{
	{"time", "time"}, {"lat", "lat (deg)"}, {"lon", "lon (deg)"}, {"altMSL", "altitude msl (m)"}, {"speed", "speed (m/s)"},
	{"track", "track (deg)"}, {"velN", "velN (m/s)"}, {"velE", "velE (m/s)"}, {"velD", "velD (m/s)"},
}

// pairOf is a key and its value as text.
type pairOf struct{ key, value string }

// object is a line's object without what an array has around it; nil where it is none.
func object(line []byte) []byte {
	line = bytes.TrimPrefix(line, []byte("\xef\xbb\xbf"))
	line = bytes.TrimRight(bytes.TrimLeft(line, " \t["), " \t\r\n],")
	if len(line) < 2 || line[0] != '{' || line[len(line)-1] != '}' {
		return nil
	}
	return line
}

// flatten reads an object's keys and values in their order.
func flatten(line []byte) (out []pairOf, err error) {
	d := json.NewDecoder(bytes.NewReader(line))
	d.UseNumber()
	if _, err := d.Token(); err != nil {
		return nil, err
	}
	if out, err = flattenIn(d, "", 1); err != nil {
		return nil, err
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("something follows the object")
	}
	return out, nil
}

func flattenIn(d *json.Decoder, prefix string, depth int) (out []pairOf, err error) {
	if depth > deepest {
		return nil, errors.New("objects are nested too deep")
	}
	for d.More() {
		t, err := d.Token()
		if err != nil {
			return nil, err
		}
		key, _ := t.(string)
		if t, err = d.Token(); err != nil {
			return nil, err
		}
		switch v := t.(type) {
		case json.Delim:
			if v == '[' { // of satellites and such: nothing a column holds
				if err := skipArray(d); err != nil {
					return nil, err
				}
				continue
			}
			inner, err := flattenIn(d, prefix+key+".", depth+1)
			if err != nil {
				return nil, err
			}
			out = append(out, inner...)
		case nil:
			out = append(out, pairOf{prefix + key, ""})
		default:
			out = append(out, pairOf{prefix + key, fmt.Sprint(v)})
		}
	}
	_, err = d.Token() // its end
	return out, err
}

func skipArray(d *json.Decoder) error {
	for depth := 1; depth > 0; {
		t, err := d.Token()
		if err != nil {
			return err
		}
		switch t {
		case json.Delim('['), json.Delim('{'):
			depth++
		case json.Delim(']'), json.Delim('}'):
			depth--
		}
	}
	return nil
}

// look finds the keys of the objects in a head, and how many there are.
func (o *objects) look(head []byte) (found, lines int) {
	for line := range bytes.Lines(head) {
		if len(bytes.TrimSpace(line)) == 0 {
			continue
		}
		lines++
		b := object(line)
		if b == nil {
			continue
		}
		pairs, err := flatten(b)
		if err != nil {
			continue
		}
		found++
		for _, p := range pairs {
			o.gpsd = o.gpsd || p == pairOf{"class", "TPV"}
			if len(o.keys) < mostKeys && !slices.Contains(o.keys, p.key) {
				o.keys = append(o.keys, p.key)
			}
		}
	}
	if o.names = o.keys; o.gpsd {
		o.keys, o.names = nil, nil
		for _, c := range gpsdColumns {
			o.keys, o.names = append(o.keys, c[0]), append(o.names, c[1])
		}
	}
	return found, lines
}

// Sniff says how surely, from 0 to 100, a head is lines of JSON with something to read.
func Sniff(head []byte) int {
	var o objects
	found, lines := o.look(head)
	switch {
	case found == 0 || 2*found < lines:
		return 0
	case o.gpsd:
		return 100
	}
	// What a table of them would be.
	o.in = bufio.NewReaderSize(bytes.NewReader(head), headSize)
	o.row(o.names)
	table, _ := io.ReadAll(&o)
	if csv.Sniff(table) == 0 {
		return 0
	}
	return 90
}

// Read reads lines of JSON. It returns what it could decode even with an error, which is that
// of csv.Read on their table.
func Read(ctx context.Context, r io.Reader, name string, opts csv.Options) (*recording.Recording, error) {
	o := &objects{in: bufio.NewReaderSize(r, headSize)}
	head, err := o.in.Peek(headSize)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	o.look(head)
	o.row(o.names)
	opts.Size = 0
	rec, err := csv.Read(ctx, o, name, opts)
	if rec == nil {
		return nil, err
	}
	rec.Format = "json"
	for _, g := range rec.Problems.Groups() {
		for i := range g.Kept {
			g.Kept[i].Line = max(g.Kept[i].Line-1, 1) // the table's header is not in the log
		}
	}
	add := func(p problem, kind string, effect diag.Effect, text string) {
		rec.Problems.AddMany(diag.Problem{Kind: kind, Effect: effect, Line: p.line, Text: text}, p.n)
	}
	add(o.bad, "row", diag.Dropped, "the line is no JSON object")
	add(o.noFix, diag.NoFix, diag.Note, "the receiver had no fix at this instant")
	add(o.unseen, "column", diag.Dropped, fmt.Sprintf("the key %q is not among those that the log begins with and was left out", o.key))
	if errors.Is(o.err, io.EOF) {
		o.err = nil
	}
	return rec, cmp.Or(err, o.err)
}

// Read gives the table.
func (o *objects) Read(p []byte) (int, error) {
	for len(o.buf) == 0 {
		if o.err != nil {
			return 0, o.err
		}
		o.next()
	}
	n := copy(p, o.buf)
	o.buf = o.buf[n:]
	return n, nil
}

// next turns a line into a row, or into a comment where it gives none.
func (o *objects) next() {
	line, err := o.in.ReadSlice('\n')
	for errors.Is(err, bufio.ErrBufferFull) {
		line = nil
		_, err = o.in.ReadSlice('\n')
	}
	o.err = err
	if o.num++; err != nil && len(line) == 0 {
		return
	}
	b := object(line)
	var pairs []pairOf
	if b != nil {
		pairs, _ = flatten(b) // nil where it is no object
	}
	cells := make([]string, len(o.keys))
	take, fix := !o.gpsd, true
	for _, p := range pairs {
		switch i := slices.Index(o.keys, p.key); {
		case o.gpsd && p.key == "class":
			take = p.value == "TPV"
		case o.gpsd && p.key == "mode":
			fix = p.value != "0" && p.value != "1"
		case i >= 0:
			cells[i] = p.value
		case !o.gpsd:
			if o.unseen.at(o.num); o.unseen.n == 1 {
				o.key = p.key
			}
		}
	}
	switch {
	case b == nil && len(bytes.Trim(line, " \t\r\n[],")) == 0:
	case b == nil || len(pairs) == 0:
		o.bad.at(o.num)
	case take && !fix:
		o.noFix.at(o.num)
	case take:
		o.row(cells)
		return
	}
	o.buf = append(o.buf, "#\n"...)
}

// row appends a row to the table.
func (o *objects) row(cells []string) {
	for i, c := range cells {
		if i > 0 {
			o.buf = append(o.buf, '\t')
		}
		o.buf = append(o.buf, strings.Map(func(r rune) rune {
			if r < ' ' || r == '"' {
				return ' '
			}
			return r
		}, c)...)
	}
	o.buf = append(o.buf, '\n')
}
