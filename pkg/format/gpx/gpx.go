// Package gpx reads GPX 1.1 tracks, and those of GPX 1.0.
//
// GPX is positions with times. Speed is not part of GPX 1.1 but stands in the
// extensions of many loggers, in m/s by their common practice: an element named
// speed in any namespace is taken, as is the speed of GPX 1.0, and course
// likewise. Where no point of the log has a speed the track's source is
// recording.Position and its speed is absent, to be derived from the positions.
//
// All tracks and segments of a file make one track in the order of time, with a
// mark at each break. Reading is streamed: plain tags and text are read here,
// everything else by encoding/xml; after broken XML it goes on with the next
// point. Document types and entities are never expanded, and no single
// token may be longer than a limit.
//
// Limits: way-points and routes are passed over; a time without a zone is taken
// as UTC and said so; what the positions are worth the file does not say.
package gpx

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"

	"golang.org/x/text/transform"
)

// Options control reading. The zero value is usable.
type Options struct {
	// MaxToken is the longest tag, text or comment that is read; 0 means 64 KiB.
	MaxToken int // bytes
	// Size is the number of bytes that r holds, 0 where it is not known. It only
	// saves memory.
	Size int64

	slow bool // for comparison: encoding/xml reads every token
}

// maxToken is far above anything a track holds.
const maxToken = 64 << 10

// Sniff says how surely head begins a GPX file: 0 no, 100 certain.
func Sniff(head []byte) int {
	if isUTF16(head) {
		head, _ = utf16.NewDecoder().Bytes(head[:len(head)&^1])
	}
	head = bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n\x00")
	switch {
	case len(head) == 0:
		return 0
	case head[0] == '<' && bytes.Contains(head, []byte("<gpx")):
		return 95
	case head[0] == '<' && bytes.Contains(head, []byte(":gpx ")): // a prefix for the whole
		return 80
	case bytes.Contains(head, []byte("<trkpt")):
		return 70 // the beginning is lost
	}
	return 0
}

// Read reads a log. It returns what it could decode even with an error. The
// error is non-nil only if reading from r fails, ctx is cancelled, or the log
// has no track point with a time. Errors of the data are in the recording's
// Problems, by line.
func Read(ctx context.Context, r io.Reader, name string, opts Options) (*recording.Recording, error) {
	if opts.MaxToken <= 0 {
		opts.MaxToken = maxToken
	}
	utf8, unknown := decode(r)
	clean := new(cleaner)
	rec := &recording.Recording{Name: name, Format: "gpx", Clock: "utc"}
	p := &parser{rec: rec, track: &recording.Track{Name: "trkpt", SpeedUnit: 1},
		src: newSource(ctx, transform.NewReader(utf8, clean), opts.MaxToken), slow: opts.slow, size: opts.Size}
	rec.Tracks = []*recording.Track{p.track}
	p.order = &order{Sequence: recording.Sequence{Track: p.track, Problems: &rec.Problems}}
	problems := &rec.Problems
	if unknown != "" {
		problems.Addf("encoding", diag.Note, p.src.line, "the encoding %q is unknown; read as UTF-8", unknown)
	}
	err := p.run()
	p.finish()
	if clean.replaced > 0 {
		problems.Addf("bytes", diag.Note, 0, "%d bytes are not valid in XML and were replaced", clean.replaced)
	}
	if err == nil && p.track.Len() == 0 {
		err = errors.New("no track point with a time")
	}
	return rec, err
}

// parser reads tokens and puts points together.
type parser struct {
	src   *source
	rec   *recording.Recording
	track *recording.Track
	order *order
	point point
	text  []byte
	attrs []attr
	slow  bool  // encoding/xml reads every token
	size  int64 // of the input, 0 unknown
	inPt  bool
	depth int // elements open inside the point
	leaf  leaf
	// what was seen
	speeds, points    int
	speedDec, timeDec int
	noZone, noFix     counted
	segment           int // segments open
}

// counted is how often something was met, first at a line.
type counted struct{ n, line int }

func (c *counted) count(line int) {
	if c.n++; c.n == 1 {
		c.line = line
	}
}

// run reads to the end. After a syntax error it goes on with the next point.
func (p *parser) run() error {
	for {
		err := p.tokens()
		ended := p.src.exhausted()
		switch {
		case ended && !errors.Is(p.src.err, io.EOF):
			return p.src.err
		case ended && (errors.Is(err, io.EOF) || bytes.LastIndex(p.src.token(), []byte("<trkpt")) < 1):
			p.endOfFile(errors.Is(err, io.EOF))
			return nil
		}
		p.syntax(err)
		p.src.goBack()
		if !p.src.skipTo("<trkpt") {
			if !errors.Is(p.src.err, io.EOF) {
				return p.src.err
			}
			return nil
		}
	}
}

// syntax notes broken XML. A point it struck is lost.
func (p *parser) syntax(err error) {
	var se *xml.SyntaxError
	text := "the XML is broken"
	switch {
	case errors.As(err, &se):
		text = "the XML is broken: " + se.Msg
	case errors.Is(err, errToken):
		text = err.Error()
	case err != nil && !errors.Is(err, io.EOF):
		text = "the XML is broken: " + err.Error()
	}
	effect := diag.Note
	if p.inPt {
		effect = diag.Dropped
		text += "; the point is lost"
	}
	p.rec.Problems.Addf("xml", effect, p.src.line, "%s", text)
	p.inPt = false
}

// endOfFile looks at how the file ends: between two tokens or inside one.
func (p *parser) endOfFile(between bool) {
	switch {
	case p.inPt:
		p.rec.Problems.Addf(diag.Truncated, diag.Dropped, p.src.line, "the file ends inside a point, which is lost")
	case p.segment > 0 || !between:
		p.rec.Problems.Addf(diag.Truncated, diag.Note, p.src.line, "the file ends inside a track")
	}
}

// tokens reads until an error, io.EOF at the end.
func (p *parser) tokens() error {
	dec := xml.NewDecoder(p.src)
	dec.Strict = false
	dec.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	whole := true  // the decoder holds nothing back
	ahead := false // but the first byte of the next tag
	for {
		if whole && !p.slow {
			p.plain()
		}
		p.src.next(ahead)
		tok, err := dec.RawToken()
		if err != nil {
			return err
		}
		ahead = false
		switch t := tok.(type) {
		case xml.StartElement:
			p.attrs = p.attrs[:0]
			for _, a := range t.Attr {
				p.attrs = append(p.attrs, attr{[]byte(a.Name.Local), []byte(a.Value)})
			}
			p.start([]byte(t.Name.Local), p.attrs)
			whole = !bytes.HasSuffix(p.src.token(), []byte("/>")) // else its end is to come
		case xml.EndElement:
			p.end([]byte(t.Name.Local))
			whole = true
		case xml.CharData:
			ahead = bytes.HasSuffix(p.src.token(), []byte("<"))
			whole = !ahead
			if p.leaf != none {
				p.text = append(p.text, t...)
			}
		default:
			whole = true
		}
	}
}

// finish settles what only the whole log tells.
func (p *parser) finish() {
	p.rec.Marks = p.order.close()
	t := p.track
	t.Source = recording.Position
	if p.speeds > 0 {
		t.Source, t.SpeedStep = recording.GNSS, math.Pow10(-p.speedDec)
	}
	switch missing := p.points - p.speeds; {
	case missing == 0:
	case p.speeds > 0:
		p.rec.Problems.Addf(diag.NoSpeed, diag.Note, 0, "%d of %d points have no speed", missing, p.points)
	default:
		p.rec.Problems.Addf(diag.NoSpeed, diag.Note, 0, "no point has a speed; speed comes from the positions, which is less exact")
	}
	t.TimeStep = time.Duration(math.Round(1e9 * math.Pow10(-p.timeDec)))
	if p.noZone.n > 0 {
		p.rec.Problems.Addf("no-zone", diag.Note, p.noZone.line, "%d times have no zone; taken as UTC", p.noZone.n)
	}
	if p.noFix.n > 0 {
		p.rec.Problems.Addf(diag.NoFix, diag.Suspect, p.noFix.line, "%d points are marked as having no fix", p.noFix.n)
	}
}
