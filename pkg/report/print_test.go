package report_test

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/report"
)

// TestDemoOnPaper prints the demonstration's reports in a browser: they keep within their
// pages, and nothing is lost on the way to paper.
func TestDemoOnPaper(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	res := demoExplained(t, func(s string) string { return s }).Result
	for _, c := range []struct {
		name  string
		paper report.Paper
		size  string
		most  int
		want  []string
	}{
		{"usual", report.Paper{}, "A4", 8, []string{"Modes compared", "by the sheet, s", "80–120 km/h", "speed, mph"}},
		{"usual", report.Paper{}, "Letter", 8, nil},
		{"short", report.Paper{Extent: report.Short}, "A4", 3, nil},
		{"short", report.Paper{Extent: report.Short}, "Letter", 3, nil},
	} {
		var page bytes.Buffer
		if err := report.HTML(t.Context(), &page, res, c.paper); err != nil {
			t.Fatal(err)
		}
		text := printed(t, strings.Replace(page.String(), "@page{", "@page{size:"+c.size+";", 1))
		for _, want := range append(c.want, "Acceleration test sheet", "which decides", "two-way mean", "Why the modes differ", "SHA-256", "Cautions", "1 of ") {
			if !strings.Contains(text, want) {
				t.Errorf("%s on %s: the print lacks %q", c.name, c.size, want)
			}
		}
		if pages := strings.Count(text, "\f"); pages > c.most {
			t.Errorf("%s on %s: %d pages, want at most %d", c.name, c.size, pages, c.most)
		}
	}
}

// printed is what a browser prints of a page, as text, a form feed after each sheet of
// paper.
func printed(t *testing.T, html string) string {
	t.Helper()
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium to print with")
	}
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("no pdftotext to read the print with")
	}
	dir := t.TempDir()
	page, out := filepath.Join(dir, "report.html"), filepath.Join(dir, "report.pdf")
	if err := os.WriteFile(page, []byte(html), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	msg, err := exec.CommandContext(ctx, browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
		"--user-data-dir="+filepath.Join(dir, "profile"), "--no-pdf-header-footer", "--print-to-pdf="+out, "file://"+page).CombinedOutput()
	if _, gone := os.Stat(out); gone != nil {
		t.Skipf("the browser does not run here: %v: %.200s", err, msg)
	}
	text, err := exec.Command("pdftotext", "-layout", out, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(string(text), "\u2007", " ")
}
