package session

import (
	"slices"
	"testing"
)

func TestShown(t *testing.T) {
	for _, c := range []struct{ in, want []string }{
		{[]string{"/home/tess/van/full-1.nmea"}, []string{"full-1.nmea"}},
		{[]string{"/home/tess/season/sport/3.nmea", "/home/tess/season/calm/3.nmea"}, []string{"sport/3.nmea", "calm/3.nmea"}},
		{[]string{"logs/a.nmea", "/media/card/a.nmea"}, []string{"logs/a.nmea", "a.nmea"}},
		{[]string{"../tess/a.nmea", "b.nmea"}, []string{"a.nmea", "b.nmea"}},
		{[]string{"/home/tess/season/1.nmea", "/media/card/2.nmea"}, []string{"1.nmea", "2.nmea"}},
		{[]string{"/media/a.nmea", "../a.nmea"}, []string{"media/a.nmea", "a.nmea"}},
		{[]string{"/media/a.nmea", "/media/a.nmea"}, []string{"media/a.nmea", "media/a.nmea"}},
		{[]string{"-"}, []string{"-"}},
		{nil, nil},
	} {
		if got := Shown(c.in); !slices.Equal(got, c.want) {
			t.Errorf("%q are shown as %q, want %q", c.in, got, c.want)
		}
	}
}
