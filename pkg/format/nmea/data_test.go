package nmea

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
	"fromrest/pkg/unit"
)

// dataFiles returns the real recordings, by folder and name.
func dataFiles(t testing.TB) map[string][]byte {
	return testlog.Logs(t, "nmea/*", "mixed/*")
}

// TestRealRecordings pins the fixes, those with speed, the first and last
// instant, the fastest speed in knots as the log prints it, and what was
// dropped or doubted.
func TestRealRecordings(t *testing.T) {
	pins := map[string]struct {
		fixes, speeds int
		first, last   string
		fastest       float64 // kn
		lost          map[string]int
	}{
		"amod.nmea":                                {4, 4, "2008-06-05T20:06:41", "2008-06-05T20:06:44", 0, nil},
		"backfilldate2.nmea":                       {240, 0, "2019-03-08T23:56:00", "2019-03-08T23:59:59", 0, nil},
		"corner-bt451.nmea":                        {9, 8, "2009-12-09T15:25:04.5", "2009-12-09T15:25:08.5", 0.371, map[string]int{"time-backward": 6}},
		"corner-bundg_zeus_9.nmea":                 {149, 146, "2018-08-20T09:47:36", "2018-08-20T09:50:04", 6.7, nil},
		"corner-geos-1m.nmea":                      {7, 7, "2010-07-09T07:37:01", "2010-07-09T07:37:08", 0.27917, nil},
		"corner-gp-320fw-2019-04-06-overflow.nmea": {21, 20, "2019-04-06T23:57:23.02", "2019-04-06T23:57:43.02", 0.1, nil},
		"corner-gp-320fw-2019-04-07-coldboot.nmea": {2, 2, "2019-04-07T00:03:43.03", "2019-04-07T00:03:45.03", 0.1, map[string]int{"checksum": 13, "cut-sentence": 3, "no-checksum": 2}},
		"corner-humminbird-M37.nmea":               {33, 25, "2006-09-16T19:41:01", "2006-09-16T20:41:19", 5.3, map[string]int{"time-step": 1}},
		"corner-iTrek.nmea":                        {35, 35, "2005-07-27T04:58:49", "2005-07-27T04:59:23", 3.35, map[string]int{"malformed": 1}},
		"corner-mtk-3301.nmea":                     {4, 4, "2008-08-23T08:14:36", "2008-08-23T08:14:39", 0.205, nil},
		"corner-nl2008u.nmea":                      {9, 9, "2015-10-10T09:12:32", "2015-10-10T09:34:53", 10.09, nil},
		"corner-nmea-fuzzy-cases.nmea":             {14, 14, "2020-03-18T13:28:20.6", "2020-03-18T13:39:00.9", 3.252, nil},
		"corner-quectelLC79D.nmea":                 {30, 30, "2020-11-30T11:50:33", "2020-11-30T11:51:02", 0, nil},
		"corner-rgm3800.nmea":                      {2, 2, "2008-08-21T10:25:23.342", "2008-08-21T10:25:24.342", 0, nil},
		"corner-telit-he910.nmea":                  {187, 187, "2019-03-12T10:51:53.408", "2019-03-12T10:54:59.408", 0.3, map[string]int{}},
		"corner-ublox-8.nmea":                      {72, 72, "2017-01-10T00:09:41", "2017-01-10T00:10:52", 0.248, map[string]int{"no-checksum": 1}},
		"corner-ublox-neo-m9n-nmea.nmea":           {61, 61, "2020-07-11T22:37:45", "2020-07-11T22:38:45", 0.084, nil},
		"empty-speed-1hz.nmea":                     {156, 150, "2008-03-03T22:24:37", "2008-03-03T22:27:12", 38.7, nil},
		"f9k-gaps-1hz.nmea":                        {55, 54, "2020-02-07T02:31:20", "2020-02-07T02:32:30", 27.283, nil},
		"f9k-three-launches-1hz.nmea":              {191, 191, "2020-02-07T02:22:20", "2020-02-07T02:25:30", 33.72, nil},
		"milliseconds.nmea":                        {32, 30, "2007-08-17T09:31:56", "2007-08-17T09:32:05.75", 0.52, map[string]int{"time-repeated": 2}},
		"munich-tunnel-1hz.nmea":                   {1845, 1845, "2009-04-01T12:40:22", "2009-04-01T13:11:26", 33.7, map[string]int{"time-repeated": 2}},
		"nmeadatetime.nmea":                        {16, 16, "2019-10-23T22:25:07", "2019-10-23T22:25:24", 0.055, map[string]int{"malformed": 6}},
		"reference-bad-rmc-checksums-1hz.nmea":     {1748, 1748, "2020-02-07T02:13:31", "2020-02-07T02:42:38", 33.7, map[string]int{"checksum-type": 1}},
		"regensburg-0.5hz.nmea":                    {774, 774, "2010-04-11T16:57:44", "2010-04-11T17:24:00", 56.4, nil},
		"switzerland-static-hold-1hz.nmea":         {10327, 10327, "2010-04-03T11:22:25.844", "2010-04-03T14:19:29", 70.07, map[string]int{"mode": 89}},
		"track-PosData-20081216-115434.nmea":       {1285, 1285, "0001-01-01T11:54:34", "0001-01-01T12:44:47.622", 44.3, map[string]int{"signed-angle": 2570, "checksum-absent": 1}},
		"track-WG20080203171807.log.nmea":          {487, 487, "2008-02-03T17:18:07", "2008-02-03T19:24:57", 33.1, nil},
		"track-btnmea_GST.nmea":                    {9, 9, "2024-08-09T09:43:58.6", "2024-08-09T09:44:06.6", 6.478, nil},
		"track-btnmeatrack_2016-01-25.nmea":        {30, 29, "2016-01-25T05:05:09.2", "2016-01-25T05:05:15", 0, nil},
		"utf16-crlf.nmea":                          {154, 154, "2004-08-07T03:29:08.379", "2004-08-07T03:31:41.37", 0.22, nil},
		"pygpsdata-BADNMEAEOF.log":                 {2, 0, "0001-01-01T08:02:47", "0001-01-01T08:02:48", 0, map[string]int{"cut-sentence": 1}},
		"pygpsdata-MIXED-RTCM3.log":                {2, 1, "2022-02-08T08:41:58", "2022-02-08T08:41:59", 0, nil},
		"pygpsdata-MIXED2.log":                     {1, 1, "2021-02-22T09:08:02", "2021-02-22T09:08:02", 0.144, nil},
		"pygpsdata-MIXED3.log":                     {2, 0, "0001-01-01T08:02:47", "0001-01-01T08:02:48", 0, nil},
		"pygpsdata-MIXED3BADCK.log":                {2, 0, "0001-01-01T08:02:47", "0001-01-01T08:02:48", 0, nil},
		"pygpsdata-NMEA.log":                       {1, 1, "2021-03-06T10:36:07", "2021-03-06T10:36:07", 0.085 / 1.852, nil},
		// No fix to be found in these: a receiver's own binary protocols, or
		// sentences that say nothing of motion.
		"corner-bu303-moving.nmea": {}, "pygpsdata-ESF.log": {}, "pygpsdata-HNR.log": {}, "pygpsdata-MIXED.log": {},
		"pygpsdata-NMEABADEND.log": {1, 1, "2021-03-06T10:36:07", "2021-03-06T10:36:07", 0.085 / 1.852, map[string]int{"cut-sentence": 1}},
	}
	for name, b := range dataFiles(t) {
		pin, ok := pins[filepath.Base(name)]
		if !ok {
			t.Errorf("%s: a new recording without a pin", name)
			continue
		}
		r, err := Read(context.Background(), bytes.NewReader(b), name, Options{})
		if pin.fixes == 0 {
			if err == nil || len(r.Tracks) != 0 {
				t.Errorf("%s: error %v, %d tracks", name, err, len(r.Tracks))
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		tr := r.Primary()
		speeds, fastest := 0, 0.0
		for i := range tr.Len() {
			if v := tr.Value(recording.Speed, i); v == v {
				speeds++
				fastest = max(fastest, v/unit.Knot)
			}
		}
		at := times(r)
		if tr.Len() != pin.fixes || speeds != pin.speeds || at[0] != pin.first || at[len(at)-1] != pin.last || math.Abs(fastest-pin.fastest) > 1e-9 {
			t.Errorf("%s: %d fixes, %d with speed, %s to %s, fastest %.6g kn", name, tr.Len(), speeds, at[0], at[len(at)-1], fastest)
		}
		lost := map[string]int{}
		for _, g := range r.Problems.Groups() {
			if g.Effect != "note" {
				lost[g.Kind] += g.Count
			}
		}
		want := pin.lost
		if want == nil {
			want = map[string]int{}
		}
		same2(t, name+": lost", want, lost)
	}
}

// The three starts of f9k-three-launches-1hz leave rest at the seconds its
// README names and pass 30 mph about 11, 13 and 13 s later.
func TestKnownLaunches(t *testing.T) {
	files := dataFiles(t)
	r, err := Read(context.Background(), bytes.NewReader(files["nmea/f9k-three-launches-1hz.nmea"]), "", Options{})
	if err != nil {
		t.Fatal(err)
	}
	tr := r.Primary()
	for _, c := range []struct {
		leaves string
		after  float64
	}{{"02:22:42", 11}, {"02:24:03", 13}, {"02:24:57", 13}} {
		at, _ := time.Parse(time.RFC3339, "2020-02-07T"+c.leaves+"Z")
		i, ok := slices.BinarySearch(tr.Nanos(), at.UnixNano())
		if !ok || tr.Value(recording.Speed, i-1) > 0.3 {
			t.Errorf("%s: found %v, speed before it %v", c.leaves, ok, tr.Value(recording.Speed, i-1))
			continue
		}
		k := i
		for tr.Value(recording.Speed, k) < 30*unit.MPH {
			k++
		}
		if d := tr.TimeAt(k).Sub(at).Seconds(); math.Abs(d-c.after) > 1.5 {
			t.Errorf("%s: 30 mph after %v s, want about %v", c.leaves, d, c.after)
		}
	}
}

// Whatever the pieces and the number of goroutines, the result is the same, byte
// for byte: of every log, and of parts cut out of it anywhere.
func TestParallelIsSequential(t *testing.T) {
	files := dataFiles(t)
	files["drive"] = drive(3000)
	rng := rand.New(rand.NewPCG(3, 4))
	parts, longest := 3, 1<<20
	if testlog.Thorough() {
		parts, longest = 60, math.MaxInt
	}
	for _, name := range testlog.Names(files) {
		whole := files[name]
		whole = whole[:min(len(whole), longest)]
		for i := range 1 + parts {
			b := whole
			if i > 0 {
				from := rng.IntN(len(whole))
				b = whole[from : from+rng.IntN(len(whole)-from+1)]
			}
			dump := func(opts Options) string {
				r, err := Read(context.Background(), bytes.NewReader(b), name, opts)
				sky := recording.Sky{}
				if r.Sky != nil {
					sky = *r.Sky
				}
				return testlog.Dump(r, err) + fmt.Sprint(sky)
			}
			want := dump(Options{Workers: 1, ChunkBytes: len(b) + 1})
			for range 2 {
				opts := Options{Workers: 1 + rng.IntN(4), ChunkBytes: 200 + rng.IntN(1+len(b)/3)}
				if got := dump(opts); got != want {
					t.Fatalf("%s, %d bytes with %+v: %s", name, len(b), opts, cmp.Diff(want, got))
				}
			}
		}
	}
}

// Damage costs the fixes near it and no others: no panic, no hang, and what was
// read from lines far from it is unchanged.
func TestMutants(t *testing.T) {
	files := dataFiles(t)
	for _, name := range testlog.Names(files) {
		t.Run(name, func(t *testing.T) {
			b := files[name]
			if !testlog.Thorough() {
				b = b[:min(len(b), 200_000)]
			}
			workers := 0
			read := func(b []byte) (*recording.Recording, error) {
				workers++
				return Read(context.Background(), bytes.NewReader(b), name, Options{Workers: 1 + workers%2})
			}
			whole, _ := read(b)
			full := 0
			if tr := whole.Primary(); tr != nil {
				full = tr.Len()
			}
			testlog.Each(t, name, b, 12, read, func(h testlog.Hurt, rec *recording.Recording, err error) {
				if full <= 40 || name == "nmea/track-PosData-20081216-115434.nmea" {
					return // without checksums damage cannot be told
				}
				// 200 bytes are three sentences; a fix ahead of its time may hide
				// as many again.
				if changed, lost := testlog.Loss(whole, rec); changed > 12 || lost > 25 {
					t.Errorf("%d fixes changed, %d of %d lost", changed, lost, full)
				}
			})
		})
	}
}
