package report

import (
	_ "embed" // the card's page
	"html/template"
	"io"
)

//go:embed card.html.tmpl
var cardText string

var cardPage = template.Must(template.New("card").Funcs(template.FuncMap{"way": wayName}).Parse(cardText))

// The run card: what its rows may be high, so that gloves can write in them and a day fits on a page.
const (
	cardRoom   = 186.0 // mm; for all rows of A4
	letterLess = 18.0  // mm; by which letter paper is shorter
	rowMost    = 16.0  // mm
	rowLeast   = 5.8   // mm; more runs than fit so go on to a second page
)

// cardView is what the card shows.
type cardView struct {
	*Plan
	Letter         bool
	Row, Type      float64 // mm, the height of a row and of its letters
	Room, Cautions []string
	MadeBy         string
	Cool           string
}

// PlanHTML writes a plan as the run card: a page to print, with a row for each run in the order to
// drive them and boxes to tick and fill.
func PlanHTML(w io.Writer, p *Plan) error {
	room := cardRoom
	if p.Paper == Letter {
		room -= letterLess
	}
	v := cardView{Plan: p, Letter: p.Paper == Letter, Row: max(rowLeast, min(rowMost, room/float64(len(p.Runs)+1))), Room: cardRooms(p), Cautions: Cautions(), MadeBy: plannedBy(p).MadeBy()}
	v.Type = min(6.2, v.Row*0.55)
	if p.Day.CoolDown > 0 {
		v.Cool = span(p.Day.CoolDown)
	}
	return cardPage.Execute(w, v)
}

// cardRooms are the straights in short.
func cardRooms(p *Plan) (out []string) {
	if noRoom(p) != "" {
		return []string{"not known"}
	}
	for i := range p.Rooms {
		r := &p.Rooms[i]
		s := r.Mode + ": not known"
		if r.Unknown == "" {
			s = r.Mode + ": " + p.straight(r.Need())
			if p.tooShort(r) {
				s += " (the straight is too short)"
			}
		}
		out = append(out, s)
	}
	return out
}
