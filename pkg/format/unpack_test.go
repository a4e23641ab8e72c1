package format

import (
	"archive/zip"
	"bytes"
	"io"
	"slices"
	"strings"
	"testing"
)

// What is in an archive comes out of it, with the modes of its folders; what grows
// beyond reason is refused.
func TestUnpack(t *testing.T) {
	type taken struct {
		name, mode string
		sheet      bool
	}
	sheet := file{"session.toml", "title = \"day\"\n"}
	for name, c := range map[string]struct {
		files []file
		want  []taken
	}{
		"folders": {[]file{{"eco/b.nmea", later()}, {"sport/a.nmea", fix(small)}, {"README.md", "words about the day\n"}}, []taken{{"b.nmea", "eco", false}, {"a.nmea", "sport", false}}},
		"one folder": {[]file{{"day/b.nmea", later()}, {"day/a.nmea", fix(small)}, {"day/" + sheet.name, sheet.text}},
			[]taken{{"b.nmea", "", false}, {"a.nmea", "", false}, {"session.toml", "", true}}},
		"flat": {[]file{{"a.nmea", fix(small)}, sheet, {"__MACOSX/session.toml", "x"}}, []taken{{"a.nmea", "", false}, {"session.toml", "", true}}},
	} {
		b := zipOf(t, zip.Deflate, c.files...)
		if !IsArchive(b) {
			t.Errorf("%s: no archive", name)
		}
		var got []taken
		_, err := Unpack(bytes.NewReader(b), int64(len(b)), "x.zip", func(u *Unpacked) error {
			got = append(got, taken{u.Name, u.Mode, u.Sheet})
			_, err := io.Copy(io.Discard, u.R)
			return err
		})
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, %v", name, got, err)
		}
	}
	bomb := zipOf(t, zip.Deflate, file{"a.nmea", fix(small) + strings.Repeat("\x00", 80<<20)})
	_, err := Unpack(bytes.NewReader(bomb), int64(len(bomb)), "x.zip", func(u *Unpacked) error {
		_, err := io.Copy(io.Discard, u.R)
		return err
	})
	if err == nil || !strings.Contains(err.Error(), "grows beyond reason") {
		t.Errorf("a bomb: %v", err)
	}
	if IsArchive([]byte(fix(small))) || IsArchive(zipped(t, fix(small))) {
		t.Error("a log is taken for an archive")
	}
}
