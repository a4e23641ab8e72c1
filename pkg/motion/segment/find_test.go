package segment

import (
	"math"
	"testing"
)

// drive builds a 10 Hz series from legs of constant acceleration.
type drive struct {
	in Input
	t  float64
	v  float64
	c  float64
}

func (d *drive) leg(seconds, accel float64) *drive {
	for range int(math.Round(seconds * 10)) {
		d.t += 0.1
		d.v = max(d.v+0.1*accel, 0)
		d.in.T, d.in.Speed, d.in.Course = append(d.in.T, d.t), append(d.in.Speed, d.v), append(d.in.Course, d.c)
	}
	return d
}

func (d *drive) find() []Segment {
	d.in.Step, d.in.Noise = 0.1, 0.03
	return Find(d.in)
}

func codes(s *Segment) map[string]bool {
	m := map[string]bool{}
	for _, f := range s.Flags {
		m[f.Code] = true
	}
	return m
}

func TestFind(t *testing.T) {
	gap := new(drive).leg(3, 0).leg(2, 4)
	gap.t += 1.5
	gap.v += 4
	for _, c := range []struct {
		name  string
		d     *drive
		kinds []Kind
		flags []string // of the first segment
	}{
		{"standing start and a hard stop", new(drive).leg(3, 0).leg(6, 4).leg(4, -6).leg(3, 0), []Kind{StandingStart, Braking}, nil},
		{"two starts", new(drive).leg(2, 0).leg(5, 4).leg(20, -1).leg(2, 0).leg(5, 3).leg(4, 0), []Kind{StandingStart, StandingStart}, nil},
		{"short", new(drive).leg(3, 0).leg(2, 3).leg(6, -1).leg(2, 0), []Kind{StandingStart}, []string{FlagShort}},
		{"lift", new(drive).leg(3, 0).leg(4, 4).leg(2, -1.5).leg(4, 4).leg(2, 0), []Kind{StandingStart}, []string{FlagLift}},
		{"gap", gap.leg(4, 4).leg(2, 0), []Kind{StandingStart}, []string{FlagGap}},
		{"creep", new(drive).leg(3, 0).leg(0.5, 2).leg(5, 0).leg(5, 4).leg(2, 0), []Kind{StandingStart}, []string{FlagCreep}},
		{"rolling start", new(drive).leg(3, 0).leg(2, 2).leg(2, -1).leg(0.5, -1).leg(6, 4).leg(2, 0), []Kind{StandingStart, Rolling}, []string{FlagShort}},
		{"nothing but standing", new(drive).leg(30, 0), nil, nil},
		{"driving without a stop", new(drive).leg(0.1, 150).leg(20, 0.2).leg(20, -0.2), nil, nil},
	} {
		got := c.d.find()
		var kinds []Kind
		for _, s := range got {
			kinds = append(kinds, s.Kind)
		}
		if len(kinds) != len(c.kinds) {
			t.Errorf("%s: %v, want %v", c.name, kinds, c.kinds)
			continue
		}
		for i := range kinds {
			if kinds[i] != c.kinds[i] {
				t.Errorf("%s: %v, want %v", c.name, kinds, c.kinds)
			}
		}
		for _, f := range c.flags {
			if !codes(&got[0])[f] {
				t.Errorf("%s: flags %v, want %s", c.name, got[0].Flags, f)
			}
		}
		if len(c.flags) == 0 && len(got) > 0 && len(got[0].Flags) > 0 {
			t.Errorf("%s: unexpected flags %v", c.name, got[0].Flags)
		}
	}
}

// The launch is where the legs put it, and the run ends where speed falls away.
func TestStartPlace(t *testing.T) {
	got := new(drive).leg(3, 0).leg(6, 4).leg(10, -2).find()
	in := new(drive).leg(3, 0).leg(6, 4).leg(10, -2).in
	if len(got) == 0 {
		t.Fatal("no start")
	}
	if m := in.T[got[0].Moving]; math.Abs(m-3.1) > 0.11 {
		t.Errorf("moving from %.2f s, want about 3.1", m)
	}
	if e := in.T[got[0].To-1]; e < 9 || e > 9.8 {
		t.Errorf("ends at %.2f s, want just after 9", e)
	}
	if math.Abs(got[0].Max-24) > 1e-9 {
		t.Errorf("highest speed %g, want 24", got[0].Max)
	}
}

// A cold first row at 0 ahead of driving at speed is no standstill, and a jump
// from 0 that no vehicle makes is no launch.
func TestFalseLaunch(t *testing.T) {
	d := new(drive).leg(1, 0)
	d.v = 14.7
	if got := d.leg(20, 0.1).find(); len(got) != 0 {
		t.Errorf("jump: %+v", got)
	}
	one := &drive{in: Input{T: []float64{0}, Speed: []float64{0}, Course: []float64{0}}, v: 14.7}
	if got := one.leg(20, 0.1).find(); len(got) != 0 {
		t.Errorf("first row: %+v", got)
	}
}

func TestTurn(t *testing.T) {
	d := new(drive).leg(3, 0).leg(3, 4)
	d.c = 40
	got := d.leg(3, 3).leg(2, 0).find()
	if len(got) != 1 || !codes(&got[0])[FlagTurn] {
		t.Errorf("%+v", got)
	}
}
