package report_test

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
)

// The run card is one page, on A4 and on letter paper, with all rows in the planned order, a box to
// tick in each and all cautions; a day of more than thirty runs may take two.
func TestRunCardIsOnePage(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	for _, c := range []struct {
		modes, runs, pages int
		paper              report.Paperwork
	}{{3, 4, 1, report.A4}, {3, 4, 1, report.Letter}, {2, 2, 1, report.A4}, {4, 6, 1, report.Letter}, {5, 6, 1, report.A4}, {4, 12, 2, report.A4}} {
		o := compare.PlanOptions{Runs: c.runs}
		for m := range c.modes {
			o.Modes = append(o.Modes, fmt.Sprintf("mode %c", 'A'+m))
		}
		plan, err := compare.NewPlan(o, nil)
		if err != nil {
			t.Fatal(err)
		}
		var page bytes.Buffer
		p := &report.Plan{Plan: plan, Paper: c.paper, Day: sheet.Plan{CoolDown: 600}, Rooms: session.Rooms(nil, &sheet.Plan{Stopping: 150, Target: "1/4 mile"}, o.Modes)}
		if err := report.PlanHTML(&page, p); err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(page.String(), `<td class="tick">`); n != 2*len(plan.Runs) {
			t.Errorf("%d boxes for %d runs", n, len(plan.Runs))
		}
		text := printed(t, page.String())
		if pages := strings.Count(text, "\f"); pages != c.pages {
			t.Errorf("%d runs of %d modes on %s: %d pages, want %d", c.runs, c.modes, c.paper, pages, c.pages)
		}
		words := strings.Join(strings.Fields(text), " ")
		for _, want := range append([]string{"Run card", "10 min", "Straight needed", "The site's rules come first"}, "Stop when anything slips", "maker's manual") {
			if !strings.Contains(words, want) {
				t.Errorf("%d runs of %d modes on %s: the print lacks %q:\n%s", c.runs, c.modes, c.paper, want, words)
			}
		}
		last := 0
		for _, r := range plan.Runs {
			at := strings.Index(words[last:], fmt.Sprintf("%d %s", r.Order, r.Mode))
			if at < 0 {
				t.Errorf("%d runs of %d modes: run %d, %s is not in its place", c.runs, c.modes, r.Order, r.Mode)
				break
			}
			last += at
		}
	}
}
