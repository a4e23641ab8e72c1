package report

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestPrintsToPDF prints the page in a browser and looks for its numbers in the
// pages: nothing is lost on the way to paper.
func TestPrintsToPDF(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium to print with")
	}
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("no pdftotext to read the print with")
	}
	dir := t.TempDir()
	page, out := filepath.Join(dir, "report.html"), filepath.Join(dir, "report.pdf")
	if err := os.WriteFile(page, []byte(htmlOf(t, sample(), "")), 0o644); err != nil {
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
	got := strings.ReplaceAll(string(text), "\u2007", " ")
	for _, want := range []string{"Acceleration test sheet", "8.941", "two-way mean", "Cautions", "checksum", "speed, mph", "tyres | cold"} {
		if !strings.Contains(got, want) {
			t.Errorf("the print lacks %q", want)
		}
	}
	if pages := strings.Count(got, "\f"); pages < 3 {
		t.Errorf("%d pages", pages)
	}
}
