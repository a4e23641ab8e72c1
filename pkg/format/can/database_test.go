package can

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// database is written by the description of the format that its library follows: BO_ is a
// message with its identifier, the bit 31 of which marks 29 bits, SG_ a signal
// start|length@order(1 Intel, 0 Motorola)sign (factor,offset) [limits] "unit" receivers. The
// degree sign is Latin-1.
const database = "VERSION \"\"\n\nNS_ :\n\tCM_\n\nBS_:\n\nBU_: ABS DASH\n\n" +
	"BO_ 416 Wheels: 8 ABS\n" +
	" SG_ WheelSpeed : 16|16@1+ (0.01,0) [0|655.35] \"km/h\" DASH\n" +
	" SG_ Angle : 0|16@1- (0.1,0) [0|0] \"\xb0\" DASH\n" +
	" SG_ Twice : 32|16@1+ (1,0) [0|0] \"rpm\" DASH\n\n" +
	"BO_ 2566844672 Cruise: 8 ABS\n" +
	" SG_ Forward : 23|16@0- (0.5,-10) [0|0] \"mph\" DASH\n" +
	" SG_ Twice : 0|16@1+ (1,0) [0|0] \"km/h\" DASH\n" +
	" SG_ Kind M : 0|8@1+ (1,0) [0|0] \"\" DASH\n" +
	" SG_ Some m3 : 8|8@1+ (1,0) [0|0] \"km/h\" DASH\n" +
	" SG_ Exact : 32|32@1- (1,0) [0|0] \"m/s\" DASH\n\n" +
	"SIG_VALTYPE_ 2566844672 Exact : 1;\n"

func TestSignalsOfADatabase(t *testing.T) {
	path := filepath.Join(t.TempDir(), "van.DBC")
	if err := os.WriteFile(path, []byte(database), 0o644); err != nil {
		t.Fatal(err)
	}
	for what, want := range map[string]signal{
		"WheelSpeed":        {id: 416, start: 16, bits: 16, little: true, factor: 0.01},
		"Wheels.WheelSpeed": {id: 416, start: 16, bits: 16, little: true, factor: 0.01},
		"Cruise.Forward":    {id: 0x18fef100, start: 23, bits: 16, signed: true, factor: 0.5, off: -10},
		"Cruise.Twice":      {id: 0x18fef100, bits: 16, little: true, factor: 1},
		"Wheels.Twice:mph":  {id: 416, start: 32, bits: 16, little: true, factor: 1},
	} {
		s, err := parseSignal("speed=" + path + "#" + what)
		si := s.unit.SI
		if s.unit = want.unit; err != nil || s != want || si != map[bool]float64{true: unit.MPH, false: unit.KMH}[strings.Contains(what, "mph") || strings.Contains(what, "Forward")] {
			t.Errorf("%s: %+v in %g m/s, %v", what, s, si, err)
		}
	}
	for what, want := range map[string]string{
		"Speed": "no signal Speed in it", "Twice": "one of Wheels.Twice, Cruise.Twice; write which", "Wheels.Twice": `the unit of Wheels.Twice is "rpm"`,
		"Some": "multiplexed", "Exact": "floating-point", "WheelSpeed:rpm": "no unit of speed",
	} {
		if _, err := parseSignal("speed=" + path + "#" + what); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %s", what, err, want)
		}
	}
	if _, err := parseSignal("speed=none.dbc#WheelSpeed"); err == nil || !strings.Contains(err.Error(), "none.dbc") {
		t.Errorf("no file: %v", err)
	}
	broken := filepath.Join(t.TempDir(), "broken.dbc")
	if err := os.WriteFile(broken, []byte(strings.Replace(database, "BO_ 2566844672", "BO_ x", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	if s, err := parseSignal("speed=" + broken + "#WheelSpeed"); err != nil || s.id != 416 {
		t.Errorf("in front of what is broken: %v", err)
	}
	if _, err := parseSignal("speed=" + broken + "#Forward"); err == nil || !strings.Contains(err.Error(), "as far as it can be read") {
		t.Errorf("behind what is broken: %v", err)
	}
	var log strings.Builder
	for i := range 20 {
		fmt.Fprintf(&log, "(%d.%02d0000) can0 18FEF100#0000002800000000\n", 1781430000, 2*i)
	}
	rec, err := Read(t.Context(), strings.NewReader(log.String()), "x", "speed="+path+"#Forward")
	if err != nil || rec.Primary().Len() != 20 || rec.Primary().Value(recording.Speed, 3) != 10*unit.MPH {
		t.Errorf("read with it: %v", err)
	}
}

// FuzzDatabase reads any bytes as a database: no panic.
func FuzzDatabase(f *testing.F) {
	f.Add([]byte(database))
	f.Fuzz(func(t *testing.T, b []byte) {
		path := filepath.Join(t.TempDir(), "x.dbc")
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		_, _ = parseSignal("speed=" + path + "#WheelSpeed")
	})
}
