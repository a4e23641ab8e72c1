// Package format tells a log's format by its content, opens it and hands it to
// the reader of that format, one of the packages below.
//
// The model: a name says nothing. A picture renamed to .nmea is refused as a
// picture, and an NMEA log called notes.txt is read. Each reader says from the
// first 64 KiB how surely they are its own, from 0 to 100; the surest reads, from
// 20 on. Logs compressed by gzip, zstd or bzip2 are read through, one that is
// cut off as far as it goes, and the logs of ZIP and tar archives one by one. UBX frames between NMEA sentences
// make tracks of their own. The SHA-256 of a log is that of its bytes as stored,
// so that anybody can check it with the usual tools; it is computed beside the
// parsing. A Part limits what is kept, a Companion gives its accelerometer to
// other logs, and Expand turns what a user names into logs.
//
// Limits: archives in archives are not opened; a log whose first 64 KiB say
// nothing of its format is refused; a compressed log may not grow beyond 200 times
// its size and 64 MiB.
package format

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv"
	"fromrest/pkg/format/ubx"
	"fromrest/pkg/recording"
)

// Options are passed to the readers. The zero value is usable.
type Options struct {
	Columns string // CSV mapping given by the user, see format/csv
	// SpeedUnit is the unit of speed of a log whose format does not settle it, "" for
	// what the log says.
	SpeedUnit string
	// With, if set, is a log whose accelerometer goes with this one.
	With *Companion
	// Beside, if set, is the path of the accelerometer's table that goes with this log.
	Beside string
	// Part says what is kept of the log; the zero value is all.
	Part Part
	// Drain, if set, takes the fixes of a long NMEA log while it is read.
	Drain *recording.Drain
	// Workers is how many goroutines read the log, 0 for one a core. What is read
	// does not depend on it.
	Workers int
	// Progress, if set, is called with the bytes read so far.
	Progress func(n int64)

	size int64 // bytes to come, 0 unknown; only saves memory
	// unpacked is given what a compressed log unpacks to, and returns it.
	unpacked func(io.Reader) io.Reader
}

// Log is a recording with what identifies its bytes.
type Log struct {
	Recording *recording.Recording
	SHA256    string // hex
	Bytes     int64
	// Content is the SHA-256 of the log unpacked, in hex, and ContentBytes its
	// length: what a log is known by, however it was packed.
	Content      string
	ContentBytes int64
	Joined       bool // Options.With gave the acceleration
}

// headSize is how much of a log is looked at to tell its format.
const headSize = 64 << 10

// Read reads a log of any known format. The error, one line that starts with
// name, is that of the reader, or says why r holds no log. With an error the
// Log still holds what could be decoded, or is nil if nothing was.
func Read(ctx context.Context, r io.Reader, name string, opts Options) (*Log, error) {
	sum := newHashing(r, opts.Progress)
	defer sum.stop()
	var unpacked *hashing
	opts.unpacked = func(r io.Reader) io.Reader {
		if unpacked != nil { // a compressed log in an archive: what was unpacked last
			unpacked.stop()
		}
		unpacked = newHashing(r, nil)
		return unpacked
	}
	rec, err := read(ctx, sum, name, opts)
	if unpacked != nil {
		defer unpacked.stop()
	}
	if rec == nil {
		return nil, wrap(name, err)
	}
	if ctx.Err() == nil {
		// What a reader left unread still belongs to the log.
		var e error
		if unpacked != nil {
			_, e = io.Copy(io.Discard, unpacked)
		}
		if e == nil {
			_, e = io.Copy(io.Discard, sum)
		}
		err = cmp.Or(err, e)
	}
	if err == nil {
		err = cmp.Or(inUnit(rec, opts.SpeedUnit), weigh(rec, opts.SpeedUnit != "" || csv.MapsSpeed(opts.Columns)), opts.Part.choose(rec))
	}
	log := &Log{Recording: rec}
	if opts.With != nil {
		log.Joined = opts.With.Join(rec)
	}
	log.SHA256, log.Bytes = sum.result()
	log.Content, log.ContentBytes = log.SHA256, log.Bytes
	if unpacked != nil {
		log.Content, log.ContentBytes = unpacked.result()
	}
	return log, wrap(name, err)
}

// wrap puts the log's name in front of an error.
func wrap(name string, err error) error {
	if err == nil {
		return nil
	}
	if strings.HasPrefix(err.Error(), name+":") {
		return err
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err // its message names the path a second time
	}
	return fmt.Errorf("%s: %w", name, err)
}

// read tells the format and calls its reader.
func read(ctx context.Context, r io.Reader, name string, opts Options) (*recording.Recording, error) {
	head, r, err := peek(r)
	if err != nil {
		return nil, err
	}
	if len(head) == 0 {
		return nil, errors.New("the file is empty")
	}
	switch {
	case isZipped(head):
		return readZipped(ctx, head, r, name, opts)
	case isZIP(head), isTar(head):
		return readArchive(ctx, r, name, opts)
	}
	return readPlain(ctx, head, r, name, opts)
}

// readArchive reads the only log of an archive that comes as a stream.
func readArchive(ctx context.Context, r io.Reader, name string, opts Options) (rec *recording.Recording, err error) {
	in, only, err := single(r, name)
	if err != nil {
		return nil, err
	}
	opts.size = 0
	a, err := archiveOf(in, in.Size())
	if err != nil {
		return nil, err
	}
	one := func(path string, use func(io.Reader) error) error {
		e := a.each(func(m *member) error {
			if name+"/"+m.name != path {
				return nil
			}
			return cmp.Or(use(m.r), errFound)
		})
		if errors.Is(e, errFound) {
			e = nil
		}
		return e
	}
	err = one(only.Path, func(r io.Reader) (err error) {
		rec, err = read(ctx, r, only.Path, opts)
		return err
	})
	if err == nil && only.Beside != "" {
		err = one(only.Beside, func(r io.Reader) error {
			sensor, err := read(ctx, r, only.Beside, Options{})
			if err == nil {
				joinBeside(rec, sensor, only.Beside)
			}
			return err
		})
	}
	return rec, err
}

// readZipped reads a compressed log. One that is cut off, as when power goes
// while it is written, is read as far as it goes.
func readZipped(ctx context.Context, head []byte, r io.Reader, name string, opts Options) (*recording.Recording, error) {
	opts.size = 0
	how := packings[packing(head)].name
	z, err := newUnzip(head, r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", how, err)
	}
	head, in, err := peek(opts.unpacked(z))
	switch {
	case err != nil:
		return nil, fmt.Errorf("%s: %w", how, err)
	case len(head) == 0 && z.cut:
		return nil, errCut
	case isTar(head):
		return readArchive(ctx, in, name, opts)
	}
	rec, err := readPlain(ctx, head, in, name, opts)
	if !z.cut {
		return rec, err
	}
	if rec != nil {
		rec.Problems.AddfByte(diag.CutOff, diag.Dropped, z.in.n, "%v; what came after is lost", errCut)
	}
	if err != nil {
		err = fmt.Errorf("%w; %w", errCut, err)
	}
	return rec, err
}

// readPlain reads a log that begins with head.
func readPlain(ctx context.Context, head []byte, r io.Reader, name string, opts Options) (*recording.Recording, error) {
	if f := tell(head); f != nil {
		if f.name == "nmea" && ubx.Sniff(head) > 0 {
			rec, err := readMixed(ctx, r, name, opts)
			return rec, cmp.Or(err, cutOff(rec, opts.Part.Span))
		}
		rec, err := f.read(ctx, r, name, opts)
		if !f.cuts && rec != nil {
			err = cmp.Or(err, cutOff(rec, opts.Part.Span))
		}
		return rec, err
	}
	what := describe(head)
	if text(head) && len(bytes.TrimSpace(head)) > 0 {
		// It may be a table whose columns the user must name: its reader says
		// which.
		rec, err := readCSV(ctx, r, name, opts)
		if !errors.Is(err, csv.ErrNoTable) {
			return rec, err
		}
	}
	return nil, fmt.Errorf("not a log: %s", what)
}

// peek returns up to headSize bytes, valid until more is read, and a reader that
// begins with them.
func peek(r io.Reader) ([]byte, io.Reader, error) {
	in := bufio.NewReaderSize(r, headSize)
	head, err := in.Peek(headSize)
	if errors.Is(err, io.EOF) || len(head) > 0 {
		err = nil // what else ends the input is met again where head ends
	}
	return head, in, err
}

// Open reads the log at path.
func Open(ctx context.Context, path string, opts Options) (*Log, error) {
	log, err := openLog(ctx, path, opts)
	if opts.Beside == "" || log == nil || err != nil || opts.With != nil {
		return log, err
	}
	sensor, err := openLog(ctx, opts.Beside, Options{})
	if err != nil {
		return log, err
	}
	joinBeside(log.Recording, sensor.Recording, opts.Beside)
	return log, nil
}

// openLog reads the log at path, which may lie in an archive.
func openLog(ctx context.Context, path string, opts Options) (log *Log, err error) {
	f, err := os.Open(path)
	if err != nil {
		in, e := openMember(path, func(r io.Reader) (err error) {
			log, err = Read(ctx, r, path, opts)
			return err
		})
		switch {
		case !in:
			return nil, wrap(path, err)
		case e != nil && log == nil && !strings.HasPrefix(e.Error(), path):
			return nil, wrap(path, e)
		}
		return log, e
	}
	defer func() { _ = f.Close() }() // only read
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, wrap(path, err)
	case info.IsDir():
		return nil, wrap(path, errors.New("is a folder, not a log"))
	}
	if info.Mode().IsRegular() {
		opts.size = info.Size()
	}
	return Read(ctx, f, path, opts)
}
