// Package kinds reads tables whose rows are of several kinds, each of which begins with the
// name of its kind: each kind is a table of its own, without a header, for package csv.
//
// Limits: kinds are those of the first 64 KiB; of several accelerometers the first is taken.
package kinds

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv"
	"fromrest/pkg/recording"
)

// kindsOf are the record names in the first cells of a head whose rows are of several
// kinds, nil where it is not: each line begins with one of a few names, and lines of
// different names have different numbers of fields. delim is what follows the name.
func kindsOf(head []byte) (names []string, delim byte) {
	for _, delim := range []byte{',', ';', '\t', '|'} {
		fields, count := map[string]int{}, map[string]int{}
		lines, even, widths := 0, 0, map[int]bool{}
		for line := range bytes.Lines(head) {
			if line = bytes.TrimRight(line, "\r\n"); len(line) == 0 || line[0] == '#' {
				continue
			}
			lines++
			name, n := recordName(line, delim), bytes.Count(line, []byte{delim})
			if name == "" {
				continue
			}
			if count[name]++; count[name] == 1 {
				fields[name] = n
				names = append(names, name)
			}
			if fields[name] == n {
				even++
			}
		}
		names = slices.DeleteFunc(names, func(s string) bool { return count[s] < fewestOfKind })
		for _, s := range names {
			widths[fields[s]] = true
		}
		if len(names) >= 2 && len(names) <= mostKinds && len(widths) >= 2 && float64(even) >= evenKinds*float64(lines) {
			return names, delim
		}
		names = nil
	}
	return nil, 0
}

// recordName is the first cell of a line where it is a name: letters first, no more
// than letters, digits and signs between them.
func recordName(line []byte, delim byte) string {
	cell, _, ok := bytes.Cut(line, []byte{delim})
	cell = bytes.Trim(cell, ` "`)
	if !ok || len(cell) == 0 || len(cell) > longestName || cell[0] < 'A' || cell[0] == '$' {
		return ""
	}
	for _, c := range cell {
		if c != '_' && c != '-' && (c < '0' || c > '9') && (c|0x20 < 'a' || c|0x20 > 'z') {
			return ""
		}
	}
	return string(cell)
}

// Sniff says how surely, from 0 to 100, a head is a table whose rows are of several kinds.
func Sniff(head []byte) int {
	if names, _ := kindsOf(head); names == nil {
		return 0
	}
	return 75 // above a table with a header
}

// Read reads a table whose rows are of several kinds: each kind as a table of its own, in
// which the lines of the others are comments. The error is for a table of which no kind reads,
// for a failing r and for a cancelled ctx.
func Read(ctx context.Context, r io.Reader, name string, opts csv.Options) (*recording.Recording, error) {
	in := bufio.NewReaderSize(r, headSize)
	head, err := in.Peek(headSize)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	names, delim := kindsOf(head)
	tables := make([]bytes.Buffer, len(names))
	other, otherAt, n := 0, 0, 0
	for {
		line, err := in.ReadSlice('\n')
		long := false
		for errors.Is(err, bufio.ErrBufferFull) {
			long = true
			_, err = in.ReadSlice('\n')
		}
		n++
		kind := -1
		if !long {
			kind = slices.Index(names, recordName(line, delim))
		}
		if kind < 0 && len(bytes.TrimSpace(line)) > 0 && line[0] != '#' {
			if other++; other == 1 {
				otherAt = n
			}
		}
		for i := range tables {
			if i == kind {
				tables[i].Write(bytes.TrimLeft(line[len(names[i]):], `" `)[1:])
			} else {
				tables[i].WriteString("#\n")
			}
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err := cmp.Or(err, ctx.Err()); err != nil {
			return nil, err
		}
	}
	rec := &recording.Recording{Name: name, Format: "csv"}
	rec.Problems.AddMany(diag.Problem{Kind: "row", Effect: diag.Dropped, Line: otherAt, Text: "a row of a kind that the log does not begin with"}, other)
	return rec, mergeKinds(ctx, rec, names, tables, opts)
}

// mergeKinds reads the tables and puts what they give side by side.
func mergeKinds(ctx context.Context, rec *recording.Recording, names []string, tables []bytes.Buffer, opts csv.Options) error {
	var without []string
	for i := range tables {
		opts.Size = int64(tables[i].Len())
		part, err := csv.Read(ctx, &tables[i], names[i], opts)
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case err != nil || len(part.Tracks) == 0 && part.Accel.Len() == 0:
			without = append(without, cmp.Or(err, errors.New(names[i])).Error())
			continue
		case rec.Clock != "" && part.Clock != rec.Clock:
			rec.Problems.Addf("clock", diag.Dropped, 1, "rows of the kind %s are on another clock (%s) than those before (%s) and were left out", names[i], part.Clock, rec.Clock)
			continue
		}
		rec.Clock, rec.Undated = part.Clock, part.Undated
		rec.Tracks = append(rec.Tracks, part.Tracks...)
		rec.Marks = append(rec.Marks, part.Marks...)
		rec.Problems.Merge(&part.Problems)
		switch {
		case rec.Accel == nil:
			rec.Accel = part.Accel
		case part.Accel != nil:
			rec.Problems.Addf("column", diag.Note, 1, "the acceleration of the rows %s is left out: others have it too", names[i])
		}
	}
	for _, w := range without {
		rec.Problems.Addf("column", diag.Note, 1, "nothing is read from the rows of the kind %s", w)
	}
	if len(rec.Tracks) == 0 && rec.Accel == nil {
		return fmt.Errorf("rows of several kinds (%s), none of which reads as speed, position or acceleration; put the kind that holds the speed in a file of its own with a header", strings.Join(names, ", "))
	}
	return nil
}
