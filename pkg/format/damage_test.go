package format

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"fromrest/pkg/format/can"
	"fromrest/pkg/format/survey"
	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// repeated is head and n lines.
func repeated(head string, n int, line func(i int) string) []byte {
	var b strings.Builder
	b.WriteString(head)
	for i := range n {
		b.WriteString(line(i))
	}
	return []byte(b.String())
}

// Damaged copies of what no real recording is of: no panic, no promise broken, and no
// fix with another time or speed but where it is told, or the format has no checksum.
func TestDamageOfWhatIsReadHere(t *testing.T) {
	fixtures := []file{{"a.nmea", fix(small)}, {"b.nmea", later()}}
	velocities := repeated("", 400, func(i int) string {
		return closed(fmt.Sprintf("BESTVELA,COM1,0,60.0,FINESTEERING,2423,%.3f,00000000,0000,1114;SOL_COMPUTED,DOPPLER_VELOCITY,0.000,0.000,%.4f,90.0,0.0,0.0", 36000+float64(i)/20, float64(i)/10))
	})
	for name, c := range map[string]struct {
		b       []byte
		columns string
		guarded bool // by a checksum a record
	}{
		"gpsd": {repeated("", 400, func(i int) string {
			return fmt.Sprintf(`{"class":"TPV","time":"2010-04-30T11:%02d:%02d.%d0Z","lat":46.498,"lon":7.568,"speed":%.3f,"mode":3}`+"\n", i/600, i/10%60, i%10, float64(i)/10)
		}), "", false},
		"json": {repeated("", 400, func(i int) string {
			return fmt.Sprintf(`{"ts":%d,"gps":{"lat":52.1,"speed_kmh":%g}}`+"\n", 1781430000000+100*i, float64(i))
		}), "", false},
		"kinds": {repeated("", 400, func(i int) string {
			return fmt.Sprintf("ACC,%d,0.10%d,0.2%d,9.81%d\nGPS,%d,52.%07d,1.00000%02d,72.1,5\n", i*100, i%3, i%7, i%5, i*100+3, i*20, i%9)
		}), "", false},
		"can": {repeated("", 400, func(i int) string {
			return fmt.Sprintf("(%.6f) can0 1A0#0000%02X%02X00000000\n", 1781430000+float64(i)/50, i&255, i>>8)
		}), "speed=0x1A0:16|16@le,unsigned*0.01+0:km/h", false},
		"survey":  {velocities, "", true},
		"zip":     {zipOf(t, zip.Deflate, fixtures[0]), "", true},
		"tar":     {tarOf(t, fixtures[0]), "", true},
		"tar.zst": {zstdOf(t, tarOf(t, fixtures[0])), "", true},
	} {
		read := func(b []byte) (*recording.Recording, error) {
			log, err := Read(t.Context(), bytes.NewReader(b), "x", Options{Columns: c.columns})
			if log == nil {
				return &recording.Recording{}, err
			}
			return log.Recording, err
		}
		whole, err := read(c.b)
		if err != nil || whole.Primary() == nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		good := map[int64]float64{}
		for i, n := range whole.Primary().Nanos() {
			good[n] = whole.Primary().Value(recording.Speed, i)
		}
		testlog.Each(t, name, c.b, 100, read, func(_ testlog.Hurt, rec *recording.Recording, err error) {
			if !c.guarded || rec.Primary() == nil || err != nil {
				return
			}
			for i, n := range rec.Primary().Nanos() {
				if v := rec.Primary().Value(recording.Speed, i); good[n] != v && v == v {
					t.Errorf("%s: %g m/s at %s, which the log does not hold", name, v, rec.Primary().TimeAt(i))
				}
			}
		})
	}
}

// closed closes a line of a survey receiver with its checksum.
func closed(body string) string { return fmt.Sprintf("#%s*%08x\r\n", body, survey.Sum([]byte(body))) }

// FuzzBus reads logs of a bus with any signal: no panic, and no promise broken.
func FuzzBus(f *testing.F) {
	for _, log := range []string{
		"(1781430000.000000) can0 1A0#00001234\n(1781430000.100000) can0 1A0##100001235\n",
		" (0.000000)  can0  1A0   [8]  00 00 12 34 00 00 00 00\n",
		"date Sun Jun 14 10:00:00 2026\nbase hex  timestamps absolute\n   0.000000 1  1A0             Rx   d 8 00 00 12 34 00 00 00 00\n",
	} {
		f.Add([]byte(log), "speed=0x1A0:16|16@le,unsigned*0.01+0:km/h")
		f.Add([]byte(log), "speed=416:23|16@be,signed*1e-3-5:m/s")
	}
	f.Fuzz(func(t *testing.T, b []byte, columns string) {
		rec, _ := can.Read(t.Context(), bytes.NewReader(b), "x", columns)
		if rec != nil {
			testlog.Sound(t, rec)
		}
	})
}

// FuzzArchives reads archives and what is packed in them: no panic, and no promise broken.
func FuzzArchives(f *testing.F) {
	one := file{"a.nmea", fix(small)}
	f.Add(zipOf(f, zip.Deflate, one))
	f.Add(zipOf(f, zip.Store, one, file{"b.nmea", later()}))
	f.Add(tarOf(f, one))
	f.Add(zstdOf(f, tarOf(f, one)))
	f.Fuzz(func(t *testing.T, b []byte) {
		log, _ := Read(t.Context(), bytes.NewReader(b), "x.nmea", Options{})
		if log != nil {
			testlog.Sound(t, log.Recording)
		}
		if a, err := archiveOf(bytes.NewReader(b), int64(len(b))); err == nil && a != nil {
			_, _, _ = a.logs("x.zip")
		}
	})
}
