package report

import (
	"fmt"
	"io"
	"slices"
	"time"

	"fromrest/pkg/document"
	"fromrest/pkg/session"
	"fromrest/pkg/session/history"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// HistorySchema names the JSON that HistoryJSON writes.
const HistorySchema = "fromrest.history/1"

// HistoryText writes a vehicle's times by date for a terminal.
func HistoryText(w io.Writer, all []history.Series) error {
	return document.Text(w, historyBlocks(all)...)
}

// HistoryMarkdown writes a vehicle's times by date as Markdown.
func HistoryMarkdown(w io.Writer, all []history.Series) error {
	return document.Markdown(w, historyBlocks(all)...)
}

// historyBlocks are a table and the findings of each series, and what the numbers are.
func historyBlocks(all []history.Series) (doc []document.Block) {
	var by session.Settings
	for i := range all {
		s := &all[i]
		head := session.Called(s.Mode) + ", " + unit.Printed(s.Target) + " " + OriginName(s.From)
		if s.Vehicle != "" {
			head = s.Vehicle + ", " + head
		}
		doc = append(doc, document.Heading{Text: head}, historyTable(s), document.List{Items: s.Said(), Layout: document.Layout{Close: true}})
		for _, d := range s.Days {
			by = session.Settings{Version: d.Version, Model: d.Model}
		}
	}
	doc = append(doc, document.Paragraph{Text: fmt.Sprintf("Times in s; %s within the session. All tests of a mode together find a change in at most %s histories in 100 in which nothing changed.",
		halfNote, uncert.RoundHalfUp(100*history.Alpha, 0))})
	doc = append(doc, headed("Cautions", Cautions())...)
	return append(doc, madeBy(&by))
}

// historyTable is a row for each session; columns that nobody filled are left out.
func historyTable(s *history.Series) *document.Table {
	t := document.TableOf(document.Summary, "", "", "session", "runs", "time", "tyres", "odometer, km", "receiver", "model")
	for _, d := range s.Days {
		odo := ""
		if d.Odometer > 0 {
			odo = trimZeros(d.Odometer, 0)
		}
		t.Rows = append(t.Rows, document.Row{Name: dayOf(d.Date), Cells: []document.Cell{document.Words(short(d.Session)), document.Count(d.N), document.Number(d.Mean, d.U95),
			document.Words(d.Tyres), document.Words(odo), document.Words(d.Receiver), document.Count(d.Model)}})
	}
	return t.WithoutEmpty()
}

// mostTitle is how many letters of a session's title a table shows.
const mostTitle = 28

// short is a title that fits a table.
func short(title string) string {
	if r := []rune(title); len(r) > mostTitle {
		return string(r[:mostTitle-1]) + "…"
	}
	return title
}

func dayOf(t time.Time) string {
	if t.IsZero() {
		return "no date"
	}
	return t.UTC().Format(time.DateOnly)
}

type jsonHistory struct {
	Schema   string       `json:"schema"`
	Series   []jsonSeries `json:"series"`
	Cautions []string     `json:"cautions"`
}

type jsonSeries struct {
	Vehicle   string      `json:"vehicle,omitempty"`
	Mode      string      `json:"mode"`
	Target    string      `json:"target"`
	Origin    string      `json:"origin"`
	Days      []jsonDay   `json:"days"`
	Step      *jsonChange `json:"step,omitempty"`  // missing where it cannot be told
	Drift     *jsonChange `json:"drift,omitempty"` // the same; its value is for a year
	DaySD     *float64    `json:"days_differ_s,omitempty"`
	DaySDFrom string      `json:"days_differ_from,omitempty"`
	Said      []string    `json:"said"`
}

type jsonDay struct {
	Session  string   `json:"session"`
	UTC      string   `json:"utc,omitempty"`
	N        int      `json:"n"`
	Mean     *float64 `json:"mean_s"`
	U95      *float64 `json:"u95_s"`
	SD       *float64 `json:"scatter_s"`
	Tyres    string   `json:"tyres,omitempty"`
	Odometer *float64 `json:"odometer_km,omitempty"`
	Receiver string   `json:"receiver,omitempty"`
	Model    int      `json:"model"`
	Version  string   `json:"version"`
}

type jsonChange struct {
	Before string   `json:"before_utc,omitempty"` // the first launch after a step
	Value  *float64 `json:"value_s"`
	U95    *float64 `json:"u95_s"`
	P      *float64 `json:"p"`
	Told   bool     `json:"told"`
}

// HistoryJSON writes a vehicle's times by date as JSON of schema HistorySchema.
func HistoryJSON(w io.Writer, all []history.Series) error {
	change := func(s *history.Series, c history.Change) *jsonChange {
		j := &jsonChange{Value: number(c.Value), U95: number(c.U95), P: number(c.P), Told: c.Told}
		if j.P == nil {
			return nil
		}
		if c.At > 0 {
			j.Before = utc(s.Days[c.At].Date)
		}
		return j
	}
	return document.WriteJSON(w, jsonHistory{Schema: HistorySchema, Cautions: Cautions(), Series: each(slices.Clone(all), func(s history.Series) jsonSeries {
		return jsonSeries{Vehicle: s.Vehicle, Mode: s.Mode, Target: s.Target, Origin: string(s.From), Step: change(&s, s.Step), Drift: change(&s, s.Drift), DaySD: positive(s.DaySD), DaySDFrom: s.DaySDFrom, Said: s.Said(),
			Days: each(s.Days, func(d history.Day) jsonDay {
				j := jsonDay{Session: d.Session, N: d.N, Mean: number(d.Mean), U95: number(d.U95), SD: number(d.SD), Tyres: d.Tyres, Odometer: positive(d.Odometer), Receiver: d.Receiver, Model: d.Model, Version: d.Version}
				if !d.Date.IsZero() {
					j.UTC = utc(d.Date)
				}
				return j
			})}
	})})
}
