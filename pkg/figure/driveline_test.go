package figure_test

import (
	"fmt"
	"strings"
	"testing"

	"fromrest/pkg/figure"
	"fromrest/pkg/vehicle/driveline"
)

// Every shaft's torque and what every wheel does stand in the drawing, for each
// layout of the driveline.
func TestDrivelineShowsEveryShaft(t *testing.T) {
	c := driveline.Chassis{Mass: 2000, FrontShare: 0.5, TyreRadius: 0.35, FinalDrive: 4, Wheelbase: 3, CGHeight: 0.7}
	for _, front := range []bool{false, true} {
		for _, rear := range []bool{false, true} {
			if !front && !rear {
				continue
			}
			c.Front.Driven, c.Rear.Driven = front, rear
			c.Rear.Differential.Kind, c.Centre.Kind = driveline.Locked, driveline.Locked
			c.Front.Differential.Kind = driveline.BrakeControlled
			g := driveline.Even(0.8)
			g.Friction[driveline.FrontLeft] = 0.1
			g.InAir[driveline.RearRight] = true
			s, err := driveline.Solve(c, g, driveline.Most)
			if err != nil {
				t.Fatal(err)
			}
			f := figure.Driveline("Which wheels push", &c, s)
			svg := string(f.SVG())
			for i := range s.Wheel {
				w := &s.Wheel[i]
				if w.Driven && !strings.Contains(svg, fmt.Sprintf("%.0f N·m", w.Torque)) {
					t.Errorf("front %v, rear %v: torque of the %s wheel is not shown", front, rear, driveline.WheelName(i))
				}
				if !strings.Contains(svg, fmt.Sprintf("%.0f N<", w.Thrust)) || !strings.Contains(f.Desc, s.Does(i)) {
					t.Errorf("front %v, rear %v: the %s wheel's %.0f N or that it %s is not told", front, rear, driveline.WheelName(i), w.Thrust, s.Does(i))
				}
			}
			if front && rear {
				for _, x := range []float64{s.Gearbox, s.FrontShaft, s.RearShaft} {
					if !strings.Contains(svg, fmt.Sprintf("%.0f N·m", x)) {
						t.Errorf("a shaft's %.0f N·m is not shown", x)
					}
				}
			}
			if !strings.Contains(f.Desc, "Never stage") || !strings.Contains(svg, "Never stage") {
				t.Error("the caution is not in the drawing and its description")
			}
			if _, err := f.PNG(figure.Dark(), 1); err != nil {
				t.Error(err)
			}
			if _, err := f.PDF(); err != nil {
				t.Error(err)
			}
		}
	}
}
