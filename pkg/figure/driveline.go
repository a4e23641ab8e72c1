package figure

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/vehicle/driveline"
)

// PlanSize is the natural size of a driveline's plan: it reads at the width of a
// phone as well as on a page.
var PlanSize = Size{300, 330}

// Driveline draws a vehicle's driveline from above, front at the top: engine and
// gearbox, shafts with the torque on each, differentials by kind, and what every
// wheel does with its thrust. What a wheel does is told by its outline and in
// words, not by colour alone. s is the solver's answer for c.
func Driveline(title string, c *driveline.Chassis, s *driveline.State) *Figure {
	f := &Figure{Title: title, Size: PlanSize}
	var does []string
	for i := range s.Wheel {
		does = append(does, driveline.WheelName(i)+": "+s.Does(i))
	}
	f.Desc = "Plan of the driveline. " + strings.Join(does, "; ") + "."
	f.Desc += " " + drivelineCaution
	f.Draw = func(cv draw.Canvas, t *Theme) {
		p := &plan{cv: cv, t: t, c: c, s: s, cx: (cv.Min.X + cv.Max.X) / 2, front: cv.Max.Y - 92, rear: cv.Min.Y + 58}
		p.engine()
		p.shafts()
		for i := range s.Wheel {
			p.wheel(i)
		}
		p.text(p.cx, cv.Min.Y+9, draw.XCenter, t.Soft(), fold(drivelineCaution, t.Text(NoteSize, t.Soft()).Width, PlanSize.W-8)...)
	}
	return f
}

// drivelineCaution stands with every plan.
const drivelineCaution = "Never stage wheels in the air on a road. Keep locked drivelines and low range off dry pavement."

// plan is a driveline on its way onto the canvas.
type plan struct {
	cv          draw.Canvas
	t           *Theme
	c           *driveline.Chassis
	s           *driveline.State
	cx          vg.Length
	front, rear vg.Length // height of the axles
}

// planNothing is a force in N, or a torque in N·m, that is none but for rounding.
const planNothing = 1e-6

// Of the plan, in points.
const (
	planWheelW, planWheelH = vg.Length(17), vg.Length(44)
	planEdge               = vg.Length(62) // from the edge to a wheel's middle
	planAside              = vg.Length(24) // the front shaft lies beside the gearbox
)

func (p *plan) line(x1, y1, x2, y2, w vg.Length, c Paint) {
	p.cv.StrokeLine2(draw.LineStyle{Color: c, Width: w}, x1, y1, x2, y2)
}

// text writes lines under each other, centred where align is -0.5.
func (p *plan) text(x, y vg.Length, align draw.XAlignment, c Paint, lines ...string) {
	st := p.t.Text(NoteSize, c)
	st.XAlign, st.YAlign = align, draw.YAlignment(0)
	for _, l := range lines {
		p.cv.FillText(st, vg.Point{X: x, Y: y}, l)
		y -= 9
	}
}

// box is an outlined box about a middle.
func (p *plan) box(x, y, w, h vg.Length, fill Paint, dashes ...vg.Length) {
	pts := []vg.Point{{X: x - w/2, Y: y - h/2}, {X: x + w/2, Y: y - h/2}, {X: x + w/2, Y: y + h/2}, {X: x - w/2, Y: y + h/2}}
	p.cv.FillPolygon(fill, pts)
	p.cv.StrokeLines(draw.LineStyle{Color: p.t.Ink(), Width: 1, Dashes: dashes}, append(pts, pts[0]))
}

// both reports whether two axles are driven.
func (p *plan) both() bool { return p.c.Front.Driven && p.c.Rear.Driven }

// engine draws engine and gearbox ahead of the front axle.
func (p *plan) engine() {
	p.box(p.cx, p.front+52, 78, 24, p.t.Paper())
	p.text(p.cx, p.front+49, draw.XCenter, p.t.Ink(), "engine, gearbox")
}

// shafts draws the propeller shafts, the centre and the axles.
func (p *plan) shafts() {
	soft, ink := p.t.Soft(), p.t.Ink()
	torque := func(x float64) string { return fmt.Sprintf("%.0f N·m", x) }
	top := p.front + 40
	mid := (p.front + p.rear) / 2
	right := p.cx + 4
	front := p.cx
	if p.both() {
		front -= planAside
	}
	p.axle(p.front, front, driveline.FrontLeft, "front", &p.c.Front)
	p.axle(p.rear, p.cx, driveline.RearLeft, "rear", &p.c.Rear)
	switch {
	case p.both():
		p.line(p.cx, p.front+5, p.cx, p.front-5, 7, p.t.Paper()) // passes over the half shaft
		p.line(p.cx, top, p.cx, p.rear+6, 2, soft)
		p.line(p.cx-planAside, mid, p.cx-planAside, p.front-6, 2, soft)
		p.text(right, p.front-22, draw.XLeft, ink, "from the gearbox", torque(p.s.Gearbox))
		p.text(p.cx-planAside-4, mid+28, draw.XRight, ink, "front shaft", torque(p.s.FrontShaft))
		p.text(right, mid-34, draw.XLeft, ink, "rear shaft", torque(p.s.RearShaft))
		p.box(p.cx-planAside/2, mid, planAside+22, 24, p.t.Paper())
		p.line(p.cx-planAside, mid+12, p.cx-planAside, mid, 2, soft)
		p.line(p.cx-planAside, mid, p.cx, mid, 2, soft)
		p.text(p.cx+14, mid+2, draw.XLeft, ink, p.transferCase())
		p.differential(p.cx, mid, "centre", p.c.Centre.Kind)
	case p.c.Front.Driven:
		p.line(p.cx, top, p.cx, p.front+6, 2, soft)
		p.text(right, p.front+26, draw.XLeft, ink, torque(p.s.FrontShaft))
	default:
		p.line(p.cx, p.front+5, p.cx, p.front-5, 7, p.t.Paper())
		p.line(p.cx, top, p.cx, p.rear+6, 2, soft)
		p.text(right, mid-34, draw.XLeft, ink, "propeller shaft", torque(p.s.RearShaft))
		if p.c.Transfer > 0 {
			p.text(right, p.front-22, draw.XLeft, ink, "from the gearbox", torque(p.s.Gearbox))
			p.box(p.cx, mid, 22, 24, p.t.Paper())
			p.text(p.cx+14, mid-3, draw.XLeft, ink, p.transferCase())
		}
	}
}

// transferCase names the transfer case with its ratio in use.
func (p *plan) transferCase() string {
	if p.c.Transfer > 0 {
		return fmt.Sprintf("transfer case %.2f:1", p.c.Transfer)
	}
	return "transfer case"
}

// axle draws an axle's half shafts with their torque and its differential at x.
func (p *plan) axle(y, x vg.Length, left int, name string, a *driveline.Axle) {
	l, r := p.cv.Min.X+planEdge, p.cv.Max.X-planEdge
	if !a.Driven {
		p.line(l+planWheelW/2, y, r-planWheelW/2, y, 1, p.t.Grid())
		return
	}
	p.line(l+planWheelW/2, y, r-planWheelW/2, y, 2, p.t.Soft())
	for i, at := range [2]vg.Length{(l+x)/2 + 1, (r+x)/2 - 3} {
		p.text(at, y+4, draw.XCenter, p.t.Ink(), fmt.Sprintf("%.0f N·m", p.s.Wheel[left+i].Torque))
	}
	p.differential(x, y, name, a.Differential.Kind)
}

// kindMarks are what stands in a differential's box.
var kindMarks = map[driveline.Kind]string{driveline.Limited: "limited", driveline.Locked: "locked", driveline.BrakeControlled: "open, brakes"}

// differential draws a box with its kind; a locked one is barred across, a
// limited one once, one whose brakes hold a wheel has a filled diamond, an open one
// is empty.
func (p *plan) differential(x, y vg.Length, name string, k driveline.Kind) {
	word := kindMarks[k]
	if word == "" {
		word = "open"
	}
	const size = 13
	p.box(x, y, size, size, p.t.Paper())
	if k == driveline.Locked || k == driveline.Limited {
		p.line(x-size/2, y-size/2, x+size/2, y+size/2, 1, p.t.Ink())
	}
	if k == driveline.Locked {
		p.line(x-size/2, y+size/2, x+size/2, y-size/2, 1, p.t.Ink())
	}
	if k == driveline.BrakeControlled { // a filled diamond stands for the brakes
		p.cv.FillPolygon(p.t.Ink(), []vg.Point{{X: x - 3, Y: y}, {X: x, Y: y - 3}, {X: x + 3, Y: y}, {X: x, Y: y + 3}})
	}
	switch {
	case name == "centre": // shafts go up and down from it
		p.text(x+14, y-7, draw.XLeft, p.t.Soft(), name+" "+word)
	case x != p.cx:
		p.text(x-6, y-16, draw.XRight, p.t.Soft(), append([]string{name}, strings.Fields(word)...)...)
	default:
		p.text(x, y-16, draw.XCenter, p.t.Soft(), name+" "+word)
	}
}

// wheel draws one wheel, an arrow for its thrust, and in words what it does.
func (p *plan) wheel(i int) {
	w := &p.s.Wheel[i]
	x, y, align := p.cv.Min.X+planEdge, p.front, draw.XRight
	side := vg.Length(-1)
	if i == driveline.FrontRight || i == driveline.RearRight {
		x, align, side = p.cv.Max.X-planEdge, draw.XLeft, 1
	}
	if i >= driveline.RearLeft {
		y = p.rear
	}
	switch {
	case w.Load == 0: // in the air
		p.box(x, y, planWheelW, planWheelH, p.t.Paper(), 2.2, 2.2)
	case w.Thrust > planNothing:
		p.box(x, y, planWheelW, planWheelH, p.t.Soft().Fade(0.5))
	default:
		p.box(x, y, planWheelW, planWheelH, p.t.Paper())
	}
	if w.Driven && w.Spins { // a wheel that slips is hatched
		for k := vg.Length(-1); k <= 1; k++ {
			p.line(x-planWheelW/2, y+k*12-4, x+planWheelW/2, y+k*12+4, 0.8, p.t.Ink())
		}
	}
	if w.Thrust > planNothing {
		p.arrow(x, y+planWheelH/2+3)
	}
	lines := append([]string{fmt.Sprintf("%.0f N", w.Thrust)}, fold(p.s.Does(i), p.t.Text(NoteSize, p.t.Ink()).Width, planEdge-planWheelW/2-2)...)
	if w.Brake > planNothing {
		lines = append(lines, "brake", fmt.Sprintf("%.0f N·m", w.Brake))
	}
	p.text(x+side*(planWheelW/2+3), y+12, align, p.t.Ink(), lines...)
}

// arrow points forward from y.
func (p *plan) arrow(x, y vg.Length) {
	p.line(x, y, x, y+12, 1.6, p.t.Ink())
	p.cv.FillPolygon(p.t.Ink(), []vg.Point{{X: x - 4, Y: y + 11}, {X: x + 4, Y: y + 11}, {X: x, Y: y + 18}})
}
