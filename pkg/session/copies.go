package session

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"fromrest/pkg/format"
	"fromrest/pkg/sheet"
)

// dropCopies takes the logs out whose bytes, unpacked, are those of another one or the
// beginning of those: a log that was copied, packed, or taken before it had grown.
func (r *Result) dropCopies() {
	// The longest first, of equals by their paths: what is kept does not depend on the
	// order of the logs.
	logs := slices.Clone(r.Logs)
	slices.SortStableFunc(logs, func(a, b *Log) int {
		return cmp.Or(cmp.Compare(b.ContentBytes, a.ContentBytes), strings.Compare(a.Path, b.Path))
	})
	var kept []*Log
	gone, heads := map[*Log]bool{}, heads{}
	for _, l := range logs {
		i := slices.IndexFunc(kept, func(k *Log) bool { return l.isIn(k, heads) })
		if i < 0 {
			kept = append(kept, l)
			continue
		}
		gone[l] = true
		r.takeInstead(kept[i], l)
	}
	r.Logs = slices.DeleteFunc(r.Logs, func(l *Log) bool { return gone[l] })
	r.Runs = slices.DeleteFunc(r.Runs, func(run *TimedRun) bool { return gone[run.Log] })
}

// isIn reports whether all bytes of a log are those that another one begins with. A
// log that cannot be read again is taken for another one.
func (l *Log) isIn(k *Log, heads heads) bool {
	switch {
	case l.Content == "" || l.Format != k.Format || !l.Start.Equal(k.Start):
		return false
	case l.ContentBytes == k.ContentBytes:
		return l.Content == k.Content
	case heads.differ(l, k):
		return false
	}
	sum, err := k.prefix(l.ContentBytes)
	return err == nil && sum == l.Content
}

// heads are the sums of the first bytes of logs, each read once. Logs that count from an
// arbitrary zero all begin at one instant, and to hold each against all others whole would
// read a season of them over and over.
type heads map[*Log]string

// headBytes is how much of a log its head is: a block of a disk, past the columns' names.
const headBytes = 4096

// differ reports whether two logs begin differently, as far as both heads are there.
func (h heads) differ(l, k *Log) bool {
	a, b := h.of(l), h.of(k)
	return a != "" && b != "" && a != b
}

// of is the sum of a log's head, "" for a log that is shorter or cannot be read.
func (h heads) of(l *Log) string {
	sum, ok := h[l]
	if !ok {
		if l.ContentBytes >= headBytes {
			sum, _ = l.prefix(headBytes) // "" where it cannot be read
		}
		h[l] = sum
	}
	return sum
}

// prefix is the SHA-256, in hex, of the first n bytes of a log, unpacked.
func (l *Log) prefix(n int64) (string, error) {
	open := l.open
	if open == nil {
		open = func() (io.ReadCloser, error) { return os.Open(l.given()) }
	}
	f, err := open()
	if err != nil {
		return "", err
	}
	defer func() { _ = f.Close() }() // only read
	sum, got, err := format.SumUnpacked(context.Background(), f, n)
	if err == nil && got < n {
		err = fmt.Errorf("%s has become shorter: %d bytes", l.Path, got)
	}
	return sum, err
}

// takeInstead has one log stand for another whose bytes it has.
func (r *Result) takeInstead(l, copied *Log) {
	if l.Mode == "" {
		l.Mode = copied.Mode
		for _, run := range r.Runs {
			if run.Log == l {
				run.Mode = l.Mode
			}
		}
	}
	c := Copy{Log: copied, Of: l, Shorter: copied.ContentBytes < l.ContentBytes}
	r.Copies = append(r.Copies, c)
	r.Warnings = append(r.Warnings, copied.Path+" "+c.String()+".")
}

// alsoCalled are the paths of the copies of a log, by which a sheet may know it.
func (r *Result) alsoCalled(l *Log) []sheet.Alias {
	var out []sheet.Alias
	for _, c := range r.Copies {
		if c.Of == l {
			out = append(out, sheet.Alias{Name: nameAt(c.Log.given(), 0), Path: c.Log.given()})
		}
	}
	return out
}
