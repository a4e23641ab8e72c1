package format

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/diag"
)

// Three fixes of an invented drive; fix computes their checksums.
const small = "$GNRMC,101500.00,A,5200.00000,N,00100.00000,E,0.010,,140626,,,A*75\r\n" +
	"$GNRMC,101500.10,A,5200.00000,N,00100.00000,E,1.000,90.0,140626,,,A*64\r\n" +
	"$GNRMC,101500.20,A,5200.00000,N,00100.00010,E,2.000,90.0,140626,,,A*65\r\n"

// fix writes right checksums into sentences.
func fix(s string) string {
	var b strings.Builder
	for _, l := range strings.SplitAfter(s, "\r\n") {
		i := strings.IndexByte(l, '*')
		if i < 0 {
			b.WriteString(l)
			continue
		}
		var x byte
		for _, c := range []byte(l[1:i]) {
			x ^= c
		}
		b.WriteString(l[:i+1] + strings.ToUpper(hex.EncodeToString([]byte{x})) + "\r\n")
	}
	return b.String()
}

func TestReadTellsByContentAndHashes(t *testing.T) {
	in := fix(small)
	log, err := Read(context.Background(), strings.NewReader(in), "a picture.png", Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := sha256.Sum256([]byte(in))
	if log.SHA256 != hex.EncodeToString(want[:]) || log.Bytes != int64(len(in)) {
		t.Errorf("hash %s of %d bytes, want %x of %d", log.SHA256, log.Bytes, want, len(in))
	}
	if r := log.Recording; r.Format != "nmea" || r.Primary().Len() != 3 || r.Name != "a picture.png" {
		t.Errorf("got %s with %d fixes, named %q", r.Format, r.Primary().Len(), r.Name)
	}
}

// zipped is a text, given in pieces, as a gzip log.
func zipped(t *testing.T, pieces ...string) []byte {
	t.Helper()
	var z bytes.Buffer
	w := gzip.NewWriter(&z)
	for _, s := range pieces {
		if _, err := io.WriteString(w, s); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return z.Bytes()
}

func TestReadGzip(t *testing.T) {
	z := zipped(t, fix(small))
	want := sha256.Sum256(z)
	log, err := Read(context.Background(), bytes.NewReader(z), "x.gz", Options{})
	if err != nil {
		t.Fatal(err)
	}
	if log.Recording.Primary().Len() != 3 || log.SHA256 != hex.EncodeToString(want[:]) {
		t.Errorf("%d fixes, hash %s", log.Recording.Primary().Len(), log.SHA256)
	}
}

// A compressed log that is cut off is read as far as it goes and says so, however
// much of it there is.
func TestGzipCutOffIsTold(t *testing.T) {
	for _, name := range []string{"session-10hz.nmea", "session-10hz.csv", "session-5hz-hold.gpx", "session-10hz-accel.fit"} {
		b, err := os.ReadFile(filepath.Join("../../fixtures", name))
		if err != nil {
			t.Fatal(err)
		}
		for _, text := range [][]byte{b[:headSize/2], b} {
			z := zipped(t, string(text))
			whole, err := Read(t.Context(), bytes.NewReader(z), name, Options{})
			if err != nil {
				t.Fatalf("%s, %d bytes: %v", name, len(text), err)
			}
			z = z[:len(z)*3/4]
			log, err := Read(t.Context(), bytes.NewReader(z), name, Options{})
			if err != nil {
				t.Errorf("%s, %d bytes cut: %v", name, len(text), err)
				continue
			}
			if got, all := log.Recording.Primary().Len(), whole.Recording.Primary().Len(); got < all/2 || got >= all {
				t.Errorf("%s, %d bytes cut: %d of %d fixes", name, len(text), got, all)
			}
			want := diag.Problem{Kind: diag.CutOff, Effect: diag.Dropped, Byte: int64(len(z)), Text: "the compressed log is cut off; what came after is lost"}
			groups := log.Recording.Problems.Groups()
			if !slices.ContainsFunc(groups, func(g *diag.Group) bool { return slices.Contains(g.Kept, want) }) {
				t.Errorf("%s, %d bytes cut: not told among %d problems", name, len(text), len(groups))
			}
			if log.SHA256 != fmt.Sprintf("%x", sha256.Sum256(z)) {
				t.Errorf("%s, %d bytes cut: hash %s", name, len(text), log.SHA256)
			}
		}
	}
}

// Where a cut leaves nothing to read, the error says that there was one.
func TestGzipCutOffBeforeTheData(t *testing.T) {
	z := zipped(t, fix(small))
	for _, n := range []int{2, 5, 10, 11, 20} {
		_, err := Read(t.Context(), bytes.NewReader(z[:n]), "x.gz", Options{})
		if err == nil || !strings.Contains(err.Error(), "the compressed log is cut off") || strings.Contains(err.Error(), "\n") {
			t.Errorf("%d bytes: %v", n, err)
		}
	}
}

// A compressed file of nothing but zeros must not be let grow without bound.
func TestGzipBombIsRefused(t *testing.T) {
	zeros := string(make([]byte, 1<<20))
	z := zipped(t, append([]string{fix(small)}, slices.Repeat([]string{zeros}, 200)...)...)
	_, err := Read(context.Background(), bytes.NewReader(z), "bomb.gz", Options{})
	if err == nil || !strings.Contains(err.Error(), "grows beyond reason") {
		t.Errorf("error %v", err)
	}
}

func TestHashOfEveryLength(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{0, 1, hashBlock - 1, hashBlock, hashBlock + 1, 8*hashBlock + 17} {
		b := make([]byte, n)
		for i := range b {
			b[i] = byte(rng.Uint32())
		}
		h := newHashing(iotest.HalfReader(bytes.NewReader(b)), nil)
		if _, err := io.Copy(io.Discard, h); err != nil {
			t.Fatal(err)
		}
		want := sha256.Sum256(b)
		if got, k := h.result(); got != hex.EncodeToString(want[:]) || k != int64(n) {
			t.Errorf("%d bytes: %s of %d", n, got, k)
		}
	}
}

func TestErrorsAreOneLineWithTheName(t *testing.T) {
	png := "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"
	for _, c := range []struct{ in, want string }{
		{"", "x.nmea: the file is empty"},
		{png, "x.nmea: not a log: PNG image"},
		{"\x00\x00\x00\x00", "x.nmea: not a log: nothing but NUL bytes"},
		{"\n \n", "x.nmea: not a log: nothing but white space"},
		{"\x1f\x8bnot gzip", "x.nmea: gzip: "},
		{"\xff\xd8\xff\xe0", "x.nmea: not a log: JPEG image"},
	} {
		log, err := Read(context.Background(), strings.NewReader(c.in), "x.nmea", Options{})
		if err == nil || !strings.HasPrefix(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: error %v, want %s", c.in, err, c.want)
		}
		if log != nil {
			t.Errorf("%q: got a log", c.in)
		}
	}
}

// A reader that breaks off keeps what came before.
func TestReadKeepsWhatCameBeforeAnError(t *testing.T) {
	broken := errors.New("medium is gone")
	in := strings.Repeat(fix(small), 1) + "# " + strings.Repeat("x", headSize) + "\r\n"
	log, err := Read(context.Background(), io.MultiReader(strings.NewReader(in), iotest.ErrReader(broken)), "x", Options{})
	if !errors.Is(err, broken) {
		t.Fatalf("error %v", err)
	}
	if log == nil || log.Recording.Primary().Len() != 3 {
		t.Errorf("log %+v", log)
	}
}

func TestOpenNamesWhatIsWrong(t *testing.T) {
	dir := t.TempDir()
	if _, err := Open(context.Background(), dir, Options{}); err == nil || err.Error() != dir+": is a folder, not a log" {
		t.Errorf("folder: %v", err)
	}
	gone := filepath.Join(dir, "gone.nmea")
	if _, err := Open(context.Background(), gone, Options{}); err == nil || err.Error() != gone+": no such file or directory" {
		t.Errorf("gone: %v", err)
	}
	shut := filepath.Join(dir, "shut.nmea")
	write(t, shut, fix(small))
	if err := os.Chmod(shut, 0); err != nil {
		t.Fatal(err)
	}
	if f, err := os.Open(shut); err == nil {
		_ = f.Close() // only read
		t.Log("this user may read everything: the file without permission is not tried")
		return
	}
	if _, err := Open(context.Background(), shut, Options{}); err == nil || err.Error() != shut+": permission denied" {
		t.Errorf("shut: %v", err)
	}
}

func write(t *testing.T, path, s string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(s), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestArgs(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, p := range []string{"day/b.nmea", "day/a.txt", "day/sub/c", "day/.hidden/d.nmea", "day/.e.nmea", "power=on.nmea", "one.nmea"} {
		write(t, p, fix(small))
	}
	write(t, "day/README.md", "words about the day\n")
	write(t, "empty/notes.md", "words\n")
	// A sheet whose arrays look like rows of a table.
	write(t, "day/session.toml", "units = \"mph\"\ntorque_rpm_nm = [[1000.0, 240.0], [1500.0, 280.0]]\ngears = [3.6, 2.5, 1.7]\n")
	if err := os.Symlink("b.nmea", "day/link.nmea"); err != nil {
		t.Fatal(err)
	}
	logs, passed, errs := Expand([]string{"power=on.nmea", "eco=one.nmea", "sport=day", "gone.nmea", "x=gone", "empty", "one.nmea"})
	want := []Arg{{Path: "power=on.nmea"}, {Mode: "eco", Path: "one.nmea"}, {Mode: "sport", Path: "day/a.txt"},
		{Mode: "sport", Path: "day/b.nmea"}, {Mode: "sport", Path: "day/sub/c"}, {Path: "one.nmea"}}
	if d := cmp.Diff(want, logs); d != "" {
		t.Error(d)
	}
	var got []string
	for _, e := range errs {
		got = append(got, e.Error())
	}
	inFolder, _, _ := Expand([]string{"day"})
	if d := cmp.Diff([]Arg{{Path: "day/a.txt"}, {Path: "day/b.nmea"}, {Mode: "sub", Path: "day/sub/c", Folder: true}}, inFolder); d != "" {
		t.Error(d)
	}
	if d := cmp.Diff([]string{"gone.nmea: no such file or folder", "gone: no such file or folder", "empty: no log in this folder"}, got); d != "" {
		t.Error(d)
	}
	var lines []string
	noted := 0
	for _, p := range passed {
		lines = append(lines, p.Path+": "+p.Why)
		if !p.Document {
			noted++
		}
	}
	if noted != 1 {
		t.Errorf("%d files to be noted in %v, want the link alone", noted, lines)
	}
	if d := cmp.Diff([]string{"day/README.md: not a log: text in no known format", "day/link.nmea: symbolic link",
		"day/session.toml: a session sheet or a mapping, not a log",
		"empty/notes.md: not a log: text in no known format"}, lines); d != "" {
		t.Error(d)
	}
}

// The format of every real recording is told from its content.
func TestDataFolderIsTold(t *testing.T) {
	root := "../../../shared/data"
	if _, err := os.Stat(root); err != nil {
		t.Skip("the folder of real recordings is absent")
	}
	// Receivers' own binary protocols, one under the wrong name, and sentences
	// that say nothing of motion.
	errs := map[string]string{
		"corner-bu303-moving.nmea": "not a log: data in no known format",
		"pygpsdata-ESF.log":        "no fix: none of 19 UBX frames",
	}
	logs, passed, args := Expand([]string{root})
	if len(args) > 0 || len(logs) < 75 {
		t.Fatalf("%d logs, errors %v", len(logs), args)
	}
	for _, l := range logs {
		name := filepath.Base(l.Path)
		want := filepath.Base(filepath.Dir(l.Path))
		if want == "mixed" {
			want = "nmea"
		}
		if name == "pygpsdata-HNR.log" {
			want = "ubx"
		}
		if want == "no-run-60s" || want == "pairs" {
			want = "csv"
		}
		log, err := Open(context.Background(), l.Path, Options{})
		switch {
		case errs[name] != "":
			if err == nil || !strings.Contains(err.Error(), errs[name]) {
				t.Errorf("%s: error %v", name, err)
			}
		case err != nil || log.Recording.Format != want:
			t.Errorf("%s: %v", name, err)
		}
	}
	for _, p := range passed {
		if name := filepath.Base(p.Path); errs[name] == "" && name != "README.md" {
			t.Errorf("passed over: %s: %s", p.Path, p.Why)
		}
	}
}

// Text that is a table is refused with the column it wants, other text as such.
func TestTextIsTriedAsATable(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"words about the day\nand more\n", "x.txt: not a log: text in no known format"},
		{"a;b\n1;2\n3;4\n5;6\n", "x.txt: line 1: no column with the time"},
	} {
		_, err := Read(context.Background(), strings.NewReader(c.in), "x.txt", Options{})
		if err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%q: %v", c.in, err)
		}
	}
	in := "a;b\n0.0;1\n0.1;2\n0.2;3\n0.3;4\n"
	log, err := Read(context.Background(), strings.NewReader(in), "x.txt", Options{Columns: "time=a:s,speed=b:km/h"})
	if err != nil || log.Recording.Primary().Len() != 4 {
		t.Errorf("with columns: %v", err)
	}
}

// UBX solutions between sentences make a track of their own. The numbers of
// fixes are those of the two readers alone.
func TestMixedLogsGiveBothTracks(t *testing.T) {
	for name, want := range map[string][]string{
		"pygpsdata-MIXED.log":       {"NAV-PVT 39"}, // its sentences have no position
		"pygpsdata-MIXED2.log":      {"NAV-PVT 1", "RMC+VTG+GGA+GNS+GLL+PUBX,00 1"},
		"pygpsdata-MIXED3.log":      {"NAV-PVT 3"}, // its sentences have no date
		"pygpsdata-MIXED-RTCM3.log": {"RMC+GLL 2"}, // its solution is no fix
		"pygpsdata-HNR.log":         {"HNR-PVT 13"},
	} {
		path := "../../../shared/data/mixed/" + name
		if _, err := os.Stat(path); err != nil {
			t.Skip("the folder of real recordings is absent")
		}
		log, err := Open(context.Background(), path, Options{})
		if err != nil {
			t.Error(err)
			continue
		}
		var got []string
		for _, tr := range log.Recording.Tracks {
			got = append(got, fmt.Sprintf("%s %d", tr.Name, tr.Len()))
		}
		if d := cmp.Diff(want, got); d != "" || log.Recording.Undated {
			t.Errorf("%s: undated %v, %s", name, log.Recording.Undated, d)
		}
	}
}

func TestFolderMode(t *testing.T) {
	for name, want := range map[string]string{"sport": "sport", " eco ": "eco", "4x4": "4x4", "2nd gear": "2nd gear", "mode 2": "mode 2",
		"2026-06-14": "", "20260614": "", "14.06.26_0958": "", "2026-06-14T0958": "", ".": ""} {
		if got := FolderMode(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}

// TestContent checks that a log is known by its content however it is packed, and its
// earlier part by the same sum.
func TestContent(t *testing.T) {
	plain := []byte(strings.Repeat("$GPRMC,095843.00,A,5100.0,N,00100.0,E,1.0,90.0,140626,,,A*00\r\n", 3000))
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	_, _ = z.Write(plain)
	_ = z.Close()
	want := sha256.Sum256(plain)
	for _, b := range [][]byte{plain, packed.Bytes()} {
		log, _ := Read(t.Context(), bytes.NewReader(b), "a.nmea", Options{})
		if log == nil || log.Content != hex.EncodeToString(want[:]) || log.ContentBytes != int64(len(plain)) {
			t.Fatalf("%d bytes: %+v", len(b), log)
		}
		part := sha256.Sum256(plain[:1000])
		if sum, n, err := SumUnpacked(t.Context(), bytes.NewReader(b), 1000); err != nil || n != 1000 || sum != hex.EncodeToString(part[:]) {
			t.Errorf("%s, %d bytes, %v", sum, n, err)
		}
	}
}
