package report

import (
	"math"
	"strings"
	"testing"

	"fromrest/pkg/unit"
)

// Runs without a mode have a place of their own beside modes, in every table.
func TestRunsWithoutAModeStandApart(t *testing.T) {
	res := sample()
	res.Runs[0].Mode = ""
	if h := string(fragment(headlineTable(res, nil))); !strings.Contains(h, ">no mode<") {
		t.Errorf("%s", h)
	}
	if c := ModeTable(res).Columns; c[len(c)-1].Name != "no mode" || c[len(c)-1].Of != "" {
		t.Errorf("columns %+v", c)
	}
}

// A time that says too little is not printed; why stands beneath the table and in JSON.
func TestUnknownTimesSayWhy(t *testing.T) {
	res := sample()
	x := &res.Runs[0].Times[0]
	x.Seconds, x.U95, x.Reason = math.NaN(), math.NaN(), "its half-width of 1.1 s is over a third of it"
	text := render(t, RunsText, res)
	if !strings.Contains(text, "unknown") || !strings.Contains(strings.Join(strings.Fields(text), " "), res.Runs[0].ID+", "+unit.Printed(x.Name)+" "+OriginName(x.From)+": "+x.Reason) {
		t.Errorf("%s", text)
	}
	if j := render(t, RunsJSON, res); !strings.Contains(j, `"reason": "its half-width of 1.1 s is over a third of it"`) || strings.Contains(j, "NaN") {
		t.Errorf("%.600s", j)
	}
	if _, ok := res.Runs[0].Time(x.Name, x.From); ok {
		t.Error("it is given as a time")
	}
}
