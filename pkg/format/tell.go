package format

import (
	"bytes"
	"context"
	"io"
	"unicode/utf8"

	"fromrest/pkg/format/can"
	"fromrest/pkg/format/csv"
	"fromrest/pkg/format/fit"
	"fromrest/pkg/format/gpx"
	"fromrest/pkg/format/jsonlines"
	"fromrest/pkg/format/kinds"
	"fromrest/pkg/format/nmea"
	"fromrest/pkg/format/survey"
	"fromrest/pkg/format/ubx"
	"fromrest/pkg/recording"
)

// format is one kind of log.
type format struct {
	name  string
	sniff func(head []byte) int // 0 no .. 100 certain, by content
	read  func(context.Context, io.Reader, string, Options) (*recording.Recording, error)
	cuts  bool // leaves out what is not of Options.Part by itself
}

// formats are asked in this order; the surest wins, the first among equals.
var formats = []format{
	{"survey", survey.Sniff, func(ctx context.Context, r io.Reader, name string, _ Options) (*recording.Recording, error) {
		return survey.Read(ctx, r, name)
	}, false},
	{"nmea", nmea.Sniff, func(ctx context.Context, r io.Reader, name string, o Options) (*recording.Recording, error) {
		return nmea.Read(ctx, r, name, nmea.Options{Size: o.size, Workers: o.Workers, Part: o.Part.Span, Drain: o.Drain})
	}, true},
	{"fit", fit.Sniff, func(ctx context.Context, r io.Reader, name string, o Options) (*recording.Recording, error) {
		return fit.Read(ctx, r, name, fit.Options{Size: o.size})
	}, false},
	{"gpx", gpx.Sniff, func(ctx context.Context, r io.Reader, name string, o Options) (*recording.Recording, error) {
		return gpx.Read(ctx, r, name, gpx.Options{Size: o.size})
	}, false},
	{"ubx", ubx.Sniff, func(ctx context.Context, r io.Reader, name string, _ Options) (*recording.Recording, error) {
		return ubx.Read(ctx, r, name)
	}, false},
	{"json", jsonlines.Sniff, table(jsonlines.Read), true},
	{"can", can.Sniff, func(ctx context.Context, r io.Reader, name string, o Options) (*recording.Recording, error) {
		return can.Read(ctx, r, name, o.Columns)
	}, false},
	{"kinds", kinds.Sniff, table(kinds.Read), true},
	{"csv", csv.Sniff, readCSV, true},
}

var readCSV = table(csv.Read)

// table is a reader of tables with the options of this package.
func table(read func(context.Context, io.Reader, string, csv.Options) (*recording.Recording, error)) func(context.Context, io.Reader, string, Options) (*recording.Recording, error) {
	return func(ctx context.Context, r io.Reader, name string, o Options) (*recording.Recording, error) {
		return read(ctx, r, name, csv.Options{Columns: o.Columns, SpeedUnit: o.SpeedUnit, Size: o.size, Part: o.Part.Span})
	}
}

// likely is the certainty from which a format is tried.
const likely = 20

// tell returns the format of a log that begins with head, or nil.
func tell(head []byte) *format {
	var best *format
	score := likely - 1
	for i := range formats {
		if s := formats[i].sniff(head); s > score {
			best, score = &formats[i], s
		}
	}
	return best
}

// magics are the first bytes of files that people mistake for logs.
var magics = []struct{ prefix, what string }{
	{"\x89PNG\r\n\x1a\n", "PNG image"},
	{"\xff\xd8\xff", "JPEG image"},
	{"GIF8", "GIF image"},
	{"BM", "bitmap image"},
	{"II*\x00", "TIFF image"},
	{"MM\x00*", "TIFF image"},
	{"%PDF-", "PDF document"},
	{"PK\x03\x04", "ZIP archive; unpack it first"},
	{"Rar!", "RAR archive; unpack it first"},
	{"7z\xbc\xaf\x27\x1c", "7z archive; unpack it first"},
	{"\xfd7zXZ", "xz archive; unpack it first"},
	{"MDF     ", "MDF measurement file; export the channels as CSV, or its bus log as text"},
	{"UnFinMF ", "MDF measurement file that was not finished; export the channels as CSV"},
	{"SQLite format 3\x00", "SQLite database"},
	{"\x7fELF", "program"},
	{"MZ", "program"},
	{"OggS", "Ogg media file"},
	{"fLaC", "FLAC audio"},
	{"ID3", "MP3 audio"},
	{"\xd0\xcf\x11\xe0", "old office document"},
	{"<!DOCTYPE html", "HTML page"},
	{"<html", "HTML page"},
}

const unknownData = "data in no known format"

// toGPX is how a track of another kind becomes one that is read here.
func toGPX(from string) string {
	return "make GPX of it: gpsbabel -i " + from + " -f IN -o gpx,gpxver=1.0 -F OUT.gpx"
}

// markups are root elements and first records of files of tracks that are not read,
// and the converter's name for them.
var markups = []struct{ mark, what, from string }{
	{"<TrainingCenterDatabase", "TCX", "gtrnctr"},
	{"<kml", "KML", "kml"},
}

// igc reports whether head is the beginning of an IGC flight log: an A record, then
// H records.
func igc(head []byte) bool {
	first, rest, _ := bytes.Cut(head, []byte("\n"))
	return len(first) >= 4 && len(first) < 80 && first[0] == 'A' && (bytes.HasPrefix(rest, []byte("HFDTE")) || bytes.HasPrefix(rest, []byte("HFFXA")))
}

// describe says what a file that is no log seems to be.
func describe(head []byte) string {
	for _, m := range magics {
		if bytes.HasPrefix(head, []byte(m.prefix)) {
			return m.what
		}
	}
	for _, m := range markups {
		if i := bytes.Index(head[:min(len(head), 4096)], []byte(m.mark)); i >= 0 && bytes.HasPrefix(bytes.TrimLeft(head, "\ufeff \r\n\t"), []byte("<")) {
			return m.what + " track; " + toGPX(m.from)
		}
	}
	switch {
	case igc(head):
		return "IGC flight log; " + toGPX("igc")
	case isTar(head):
		return "tar archive; unpack it first"
	case bytes.HasPrefix(head, []byte("RIFF")) && len(head) >= 12 && string(head[8:12]) == "WEBP":
		return "WebP image"
	case bytes.HasPrefix(head, []byte("RIFF")) && len(head) >= 12:
		return "audio or video file"
	case len(head) >= 12 && string(head[4:8]) == "ftyp":
		return "video or HEIC image"
	case len(bytes.TrimLeft(head, "\x00")) == 0:
		return "nothing but NUL bytes"
	case len(bytes.TrimSpace(head)) == 0:
		return "nothing but white space"
	case text(head):
		return "text in no known format"
	}
	return unknownData
}

// text reports whether head is UTF-8 without control characters.
func text(head []byte) bool {
	for len(head) > 0 {
		r, n := utf8.DecodeRune(head)
		if r == utf8.RuneError && n == 1 {
			return len(head) < utf8.UTFMax // cut in the middle of a character
		}
		if r < ' ' && r != '\n' && r != '\r' && r != '\t' && r != '\f' {
			return false
		}
		head = head[n:]
	}
	return true
}
