package format

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/klauspost/compress/zstd"

	"fromrest/pkg/diag"
)

// file is a file for an archive.
type file struct{ name, text string }

func zipOf(t testing.TB, method uint16, files ...file) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for _, f := range files {
		m, err := w.CreateHeader(&zip.FileHeader{Name: f.name, Method: method})
		if err == nil {
			_, err = m.Write([]byte(f.text))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func tarOf(t testing.TB, files ...file) []byte {
	t.Helper()
	var b bytes.Buffer
	w := tar.NewWriter(&b)
	for _, f := range files {
		err := w.WriteHeader(&tar.Header{Name: f.name, Mode: 0o644, Size: int64(len(f.text)), Typeflag: tar.TypeReg})
		if err == nil {
			_, err = w.Write([]byte(f.text))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func zstdOf(t testing.TB, b []byte) []byte {
	t.Helper()
	e, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	return e.EncodeAll(b, nil)
}

// later is the small log an hour later.
func later() string { return fix(strings.ReplaceAll(small, ",1015", ",1115")) }

// Every log of an archive is read by itself, however the archive is made.
func TestArchives(t *testing.T) {
	t.Chdir(t.TempDir())
	files := []file{{"eco/b.nmea", later()}, {"a.nmea", fix(small)}, {"README.md", "words about the day\n"}, {"__MACOSX/._a.nmea", fix(small)}, {"c.nmea.gz", string(zipped(t, later()))}}
	tarred := tarOf(t, files...)
	for name, b := range map[string][]byte{
		"stored.zip": zipOf(t, zip.Store, files...), "deflated.zip": zipOf(t, zip.Deflate, files...), "plain.tar": tarred,
		"packed.tar.gz": zipped(t, string(tarred)), "packed.tar.zst": zstdOf(t, tarred),
	} {
		write(t, name, string(b))
		logs, passed, errs := Expand([]string{"sport=" + name, name})
		var got []string
		for _, l := range logs {
			got = append(got, l.Mode+"="+l.Path)
		}
		want := []string{"sport=" + name + "/eco/b.nmea", "sport=" + name + "/a.nmea", "sport=" + name + "/c.nmea.gz",
			"eco=" + name + "/eco/b.nmea", "=" + name + "/a.nmea", "=" + name + "/c.nmea.gz"}
		if !slices.Equal(got, want) || len(errs) > 0 || len(passed) != 2 || passed[0].Path != name+"/README.md" {
			t.Errorf("%s: %v, passed %v, %v", name, got, passed, errs)
		}
		for i, hour := range []int{11, 10, 11} {
			log, err := Open(t.Context(), logs[i].Path, Options{})
			if err != nil {
				t.Errorf("%s: %v", logs[i].Path, err)
				continue
			}
			if tr := log.Recording.Primary(); tr.Len() != 3 || tr.TimeAt(0).Hour() != hour {
				t.Errorf("%s: %d fixes from %s", logs[i].Path, tr.Len(), tr.TimeAt(0))
			}
		}
		inFolder, _, errs := Expand([]string{"."})
		if n := len(inFolder); n < 3 || len(errs) > 0 {
			t.Errorf("%s in a folder: %d logs, %v", name, n, errs)
		}
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
}

// An archive through a pipe is read where it holds one log, else it names them.
func TestArchivesThroughAPipe(t *testing.T) {
	for name, b := range map[string][]byte{"zip": zipOf(t, zip.Deflate, file{"a.nmea", fix(small)}), "tar": tarOf(t, file{"a.nmea", fix(small)}),
		"tar.zst": zstdOf(t, tarOf(t, file{"a.nmea", fix(small)})), "zst": zstdOf(t, []byte(fix(small)))} {
		log, err := Read(t.Context(), bytes.NewReader(b), Stdin, Options{})
		if err != nil || log.Recording.Primary().Len() != 3 {
			t.Errorf("%s: %v", name, err)
		}
	}
	_, err := Read(t.Context(), bytes.NewReader(zipOf(t, zip.Store, file{"a.nmea", fix(small)}, file{"b.nmea", later()})), Stdin, Options{})
	if err == nil || err.Error() != "-: ZIP archive of 2 logs (a.nmea, b.nmea, …): unpack it, or name one as -/a.nmea" {
		t.Errorf("two logs: %v", err)
	}
}

// The accelerometer's and the location's tables of one export go together.
func TestTablesOfOneExportAreJoined(t *testing.T) {
	t.Chdir(t.TempDir())
	location := rows("Time (s),Latitude (°),Longitude (°),Velocity (m/s)", 60, func(i int) string {
		return fmt.Sprintf("%.2f,%.7f,1.0,%.2f", 0.5+float64(i), 52+float64(i)*5/111250, 5.0)
	})
	accel := func(z float64) string {
		return rows("Time (s),Acceleration x (m/s^2),Acceleration y (m/s^2),Acceleration z (m/s^2)", 6000, func(i int) string {
			return fmt.Sprintf("%.3f,0.1,%g,%g", float64(i)*0.01, 0.01*float64(i%7), z)
		})
	}
	linear := rows("Time (s),Linear Acceleration x (m/s^2),Linear Acceleration y (m/s^2),Linear Acceleration z (m/s^2)", 6000, func(i int) string {
		return fmt.Sprintf("%.3f,0.1,%g,0", float64(i)*0.01, 0.01*float64(i%7))
	})
	gyro := rows("Time (s),Gyroscope x (rad/s),Gyroscope y (rad/s),Gyroscope z (rad/s)", 6000, func(i int) string { return fmt.Sprintf("%.3f,0.1,0.2,0", float64(i)*0.01) })
	files := []file{{"Accelerometer.csv", accel(9.81)}, {"Gyroscope.csv", gyro}, {"Linear Acceleration.csv", linear}, {"Location.csv", location}}
	write(t, "export.zip", string(zipOf(t, zip.Deflate, files...)))
	for _, f := range files {
		write(t, filepath.Join("unpacked", f.name), f.text)
	}
	for _, arg := range []string{"export.zip", "unpacked"} {
		logs, passed, errs := Expand([]string{arg})
		if len(logs) != 1 || len(errs) > 0 || len(passed) != 2 {
			t.Errorf("%s: %v, passed %v, %v", arg, logs, passed, errs)
			continue
		}
		log, err := Open(t.Context(), logs[0].Path, Options{Beside: logs[0].Beside})
		if err != nil {
			t.Fatal(err)
		}
		if n := log.Recording.Accel.Len(); n != 6000 || log.Recording.Accel.OwnClock || log.Recording.Accel.Z[0] != 9.81 {
			t.Errorf("%s: %d samples", arg, n)
		}
	}
	log, err := Read(t.Context(), bytes.NewReader(zipOf(t, zip.Deflate, files...)), Stdin, Options{})
	if err != nil || log.Recording.Accel.Len() != 6000 || log.Recording.Primary().Len() != 60 {
		t.Errorf("through a pipe: %v", err)
	}
	// Made at another time.
	write(t, "unpacked/Accelerometer.csv", strings.ReplaceAll(accel(9.81), "\n", "\n9"))
	logs, _, _ := Expand([]string{"unpacked"})
	log, err = Open(t.Context(), logs[0].Path, Options{Beside: logs[0].Beside})
	if err != nil || log.Recording.Accel != nil || log.Recording.Problems.Count(diag.Dropped) == 0 {
		t.Errorf("of another time: %v, %d dropped", err, log.Recording.Problems.Count(diag.Dropped))
	}
}

func TestArchivesThatAreNoLogs(t *testing.T) {
	t.Chdir(t.TempDir())
	zeros := strings.Repeat("$GNRMC,101500.00,A\r\n", 10<<20)
	whole := zipOf(t, zip.Deflate, file{"a.nmea", fix(small)})
	for name, c := range map[string]struct {
		b    []byte
		want string
	}{
		"bomb.zip":    {zipOf(t, zip.Deflate, file{"a.nmea", fix(small) + zeros}), "grows beyond reason"},
		"bomb.zst":    {zstdOf(t, []byte(fix(small)+zeros)), "grows beyond reason"},
		"cut.zip":     {whole[:len(whole)-30], "the ZIP archive is damaged or cut off"},
		"office.xlsx": {zipOf(t, zip.Deflate, file{"[Content_Types].xml", "<?xml version=\"1.0\"?><Types/>"}), "it is an office document; save its table as CSV"},
		"track.kmz":   {zipOf(t, zip.Deflate, file{"doc.kml", "<?xml version=\"1.0\"?><kml></kml>"}), "it is KMZ; make GPX of it: gpsbabel -i kml"},
		"words.zip":   {zipOf(t, zip.Deflate, file{"a.md", "words\n"}), "ZIP archive with no log among its 1 files"},
		"nested.zip":  {zipOf(t, zip.Store, file{"in.zip", string(whole)}), "ZIP archive with no log among its 1 files"},
		"ride.tcx":    {[]byte("<?xml version=\"1.0\"?>\n<TrainingCenterDatabase xmlns=\"x\"><Activities/>"), "TCX track; make GPX of it: gpsbabel -i gtrnctr"},
		"track.kml":   {[]byte("<?xml version=\"1.0\"?>\n<kml xmlns=\"x\"><Document/></kml>"), "KML track; make GPX of it: gpsbabel -i kml"},
		"flight.igc":  {[]byte("AXXX001\r\nHFDTE140626\r\nB1015005200000N00100000EA0010000200\r\n"), "IGC flight log; make GPX of it: gpsbabel -i igc"},
		"bus.mf4":     {[]byte("MDF     4.10    demo    \x00\x00\x00\x00"), "MDF measurement file"},
	} {
		write(t, name, string(c.b))
		logs, _, errs := Expand([]string{name})
		err := error(nil)
		if len(errs) > 0 {
			err = errs[0]
		} else {
			_, err = Open(t.Context(), logs[0].Path, Options{})
		}
		if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), name) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}
