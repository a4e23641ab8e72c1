package report

import (
	"fmt"
	"math"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/session"
	"fromrest/pkg/session/outside"
	"fromrest/pkg/uncert"
)

// OutsideTable is the outside times of the sheet beside those of the logs, nil where there
// is none. It needs the runs' traces.
func OutsideTable(res *session.Result) *document.Table {
	all := res.Outside()
	if len(all) == 0 {
		return nil
	}
	t := document.TableOf(document.Summary, "Outside times", "run", "time", "origin", "outside", "log", "log less", "")
	for _, o := range all {
		row := document.Row{Name: o.Run.ID, Unit: "s", Cells: []document.Cell{document.Words(o.Target), document.Words(o.Sheet.Origin),
			document.Number(o.Sheet.Seconds, o.Sheet.U95)}}
		if o.Reason != "" {
			row.Cells = append(row.Cells, document.Words(document.Unknown), document.None(), document.Words(o.Reason))
			t.Rows = append(t.Rows, row)
			continue
		}
		log, less := o.Expected(), o.Less()
		agrees := document.Words("agree")
		if !o.Agrees() {
			agrees = document.Words("differ")
		}
		row.Cells = append(row.Cells, document.Number(log.X, log.U95()), document.Number(less.X, less.U95()), agrees)
		t.Rows = append(t.Rows, row)
	}
	return t
}

const outsideNote = "Outside times were measured by something beside the logger. What stands by the log is what such a clock would have shown by it, with what is not known of where it started and ended; " +
	halfNote + ". Both agree where they differ by no more than both intervals allow."

// OutsideWords are what the outside times say of each log and of themselves, and how they
// are to be read.
func OutsideWords(res *session.Result) (lines []string, note string) {
	return outsideLines(res), outsideNote
}

// startedBy says what started an outside clock.
func startedBy(o outside.Origin) string {
	switch o {
	case outside.Rest:
		return "first motion"
	case outside.Rollout:
		return "the first foot"
	case outside.Bumper:
		return "the bumper"
	case outside.Tyre:
		return "the tyre"
	}
	return "the tyre, at its axle"
}

// outsideLines sum up what the outside times say of each log, and of themselves.
func outsideLines(res *session.Result) []string {
	return each(res.OutsideClocks(), func(c session.OutsideClock) string {
		clock := "clock"
		if c.By != "" {
			clock = c.By
		}
		text := fmt.Sprintf("%s, %s started by %s: %d of %d agree", c.Log.Name, clock, startedBy(c.Origin), c.Held, c.N)
		if !math.IsNaN(c.Bias.U) {
			text += fmt.Sprintf("; on average the log shows %s s %s", plusMinus(math.Abs(c.Bias.X), c.Bias.U95()), moreLess(c.Bias.X))
		}
		text += fmt.Sprintf("; it started after %s m by the log's trace", started(c.Started))
		switch {
		case len(c.Instead) > 0:
			text += ". The origin seems mis-stated: these are times of a clock started by " + strings.Join(each(c.Instead, startedBy), " or ")
		case c.Unfit:
			text += ". No origin explains these times: are they of these runs, and is the course as long as stated?"
		}
		return text
	})
}

// started prints a way to a centimetre at best.
func started(v uncert.Value) string {
	return uncert.RoundHalfUp(v.X, 2) + " ± " + uncert.RoundHalfUp(max(v.U95(), uncert.Z95*leastStart), 2)
}

// leastStart is the standard uncertainty in m below which no start of a clock is printed.
const leastStart = 0.005

// outsideBlocks are the outside times with what they say, nothing without any.
func outsideBlocks(res *session.Result) []document.Block {
	t := OutsideTable(res)
	if t == nil {
		return nil
	}
	return []document.Block{document.Heading{Text: t.Title}, t, document.List{Items: outsideLines(res)}, document.Paragraph{Text: outsideNote}}
}

// jsonOutside is what the outside times of the sheet say.
type jsonOutside struct {
	Times  []jsonOutsideTime  `json:"times"`
	Clocks []jsonOutsideClock `json:"clocks"`
}

type jsonOutsideTime struct {
	Run     string   `json:"run"`
	Target  string   `json:"target"`
	Origin  string   `json:"origin"`
	By      string   `json:"by,omitempty"`
	Seconds *float64 `json:"seconds"`
	U95     *float64 `json:"u95_s"`
	Log     *float64 `json:"by_log_s,omitempty"`
	LogU95  *float64 `json:"by_log_u95_s,omitempty"`
	Less    *float64 `json:"log_less_outside_s,omitempty"`
	LessU95 *float64 `json:"log_less_outside_u95_s,omitempty"`
	Agrees  *bool    `json:"agrees,omitempty"`
	Reason  string   `json:"reason,omitempty"`
}

type jsonOutsideClock struct {
	Log        string           `json:"log"`
	Origin     outside.Origin   `json:"origin"`
	By         string           `json:"by,omitempty"`
	N          int              `json:"n"`
	Agree      int              `json:"agree"`
	Bias       *float64         `json:"bias_s"`
	BiasU95    *float64         `json:"bias_u95_s,omitempty"`
	Started    *float64         `json:"started_m"`
	StartedU95 *float64         `json:"started_u95_m"`
	Instead    []outside.Origin `json:"origin_instead,omitempty"`
	Unfit      bool             `json:"no_origin_fits,omitempty"`
}

// outsideJSON is nil where the sheet has no outside times.
func outsideJSON(res *session.Result) *jsonOutside {
	all := res.Outside()
	if len(all) == 0 {
		return nil
	}
	return &jsonOutside{each(all, func(o session.Outside) jsonOutsideTime {
		j := jsonOutsideTime{Run: o.Run.ID, Target: o.Target, Origin: o.Sheet.Origin, By: o.Sheet.By, Seconds: number(o.Sheet.Seconds), U95: number(o.Sheet.U95), Reason: o.Reason}
		if o.Reason == "" {
			log, less, agrees := o.Expected(), o.Less(), o.Agrees()
			j.Log, j.LogU95, j.Less, j.LessU95, j.Agrees = number(log.X), number(log.U95()), number(less.X), number(less.U95()), &agrees
		}
		return j
	}), each(res.OutsideClocks(), func(c session.OutsideClock) jsonOutsideClock {
		return jsonOutsideClock{c.Log.Path, c.Origin, c.By, c.N, c.Held, number(c.Bias.X), number(c.Bias.U95()), number(c.Started.X), number(c.Started.U95()), c.Instead, c.Unfit}
	})}
}
