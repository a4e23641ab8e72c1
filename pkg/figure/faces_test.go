package figure

import (
	"context"
	"fmt"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/session/compare"
)

// boxes has a browser say of each text of each picture on a page by how many points it
// leaves its picture, and which others it covers.
const boxes = `<script>
addEventListener("load", () => {
  const out = [];
  for (const svg of document.querySelectorAll("svg")) {
    const v = svg.viewBox.baseVal, all = [...svg.querySelectorAll("text")].map((t) => [t.textContent, t.getBBox()]);
    out.push("picture " + all.length);
    all.forEach(([words, b], i) => {
      const over = Math.max(v.x - b.x, v.y - b.y, b.x + b.width - v.x - v.width, b.y + b.height - v.y - v.height);
      if (over > 0.5) out.push(svg.dataset.name + ": " + words + " leaves it by " + over.toFixed(1));
      for (const [other, o] of all.slice(0, i)) {
        const w = Math.min(b.x + b.width, o.x + o.width) - Math.max(b.x, o.x), h = Math.min(b.y + b.height, o.y + o.height) - Math.max(b.y, o.y);
        if (w > 1.5 && h > 0.35 * Math.min(b.height, o.height)) out.push(svg.dataset.name + ": " + words + " covers " + other);
      }
    });
  }
  const face = document.createElement("canvas").getContext("2d");
  face.font = "100px sans-serif";
  out.push("width " + face.measureText("time from rollout").width.toFixed(0));
  document.body.replaceChildren(Object.assign(document.createElement("pre"), { textContent: out.join("\n") }));
});
</script>`

// TestNothingIsClippedInAnotherFace draws every kind of figure where only DejaVu Sans is
// installed, which is an eighth wider than the face that figures are measured in: every text
// stays within its picture, in a file and in a page.
func TestNothingIsClippedInAnotherFace(t *testing.T) {
	if testing.Short() {
		t.Skip("a browser takes seconds")
	}
	runs := sampleRuns(2)
	figures := all(t)
	add := func(name string, f *Figure, err error) {
		if err != nil {
			t.Fatal(name, err)
		}
		figures[name] = f
	}
	for i, r := range runs {
		r.HeadingDeg = 64 + 180*float64(i%2)
	}
	for name, size := range map[string]Size{"wide": {}, "narrow": Narrow} {
		f, err := Overlay(runs, OfSpeed, ByTime, Options{Means: true, Size: size, Times: []MeanTime{{"eco", "0–30 mph", 4, 0, "4.075"}, {"road", "0–30 mph", 3.5, 0, "3.894"}, {"load", "0–30 mph", 3.2, 0, "3.830"}}})
		add(name+" means", f, err)
		f, err = Overlay(runs, OfAcceleration, BySpeed, Options{Means: true, Size: size})
		add(name+" acceleration of means", f, err)
		f, err = TimeGained(runs, Options{Size: size})
		add(name+" gained", f, err)
		f, err = ModeDots(dotsTarget(), Options{Size: size})
		add(name+" dots", f, err)
	}
	var page strings.Builder
	page.WriteString("<!DOCTYPE html><meta charset=utf-8><title>x</title>" + boxes)
	n := 0
	for name, f := range figures {
		for form, svg := range map[string][]byte{"file": f.SVG(), "page": f.InlineSVG(fmt.Sprint("f", n))} {
			text := string(svg)
			page.WriteString(strings.Replace(text[strings.Index(text, "<svg"):], "<svg", fmt.Sprintf("<svg data-name=%q", name+" in a "+form), 1))
			n++
		}
	}
	said := browsed(t, page.String())
	if got := strings.Count(said, "picture "); got != n {
		t.Fatalf("%d of %d pictures were looked at", got, n)
	}
	for line := range strings.Lines(said) {
		if !strings.HasPrefix(line, "picture ") && !strings.HasPrefix(line, "width ") {
			t.Error(strings.TrimSpace(line))
		}
	}
}

// dotsTarget is a comparison of three modes at one target.
func dotsTarget() *compare.Target {
	target := &compare.Target{Name: "0-60 mph", From: "rollout"}
	for i, mode := range []string{"eco", "road", "load"} {
		mean := 10 + 2*float64(i)
		target.Modes = append(target.Modes, compare.Mode{Name: mode, N: 2, Mean: mean, U95: 0.3})
		for k := range 2 {
			target.Runs = append(target.Runs, compare.Run{ID: fmt.Sprint(mode, "#", k), Mode: mode, Heading: 64 + 180*float64(k), Seconds: mean + 0.2*float64(k), Counted: true})
		}
	}
	return target
}

// browsed is what a page says in a browser that has no face but DejaVu Sans.
func browsed(t *testing.T, page string) string {
	t.Helper()
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("no chromium to draw with")
	}
	face, err := exec.Command("fc-match", "-f", "%{file}", "DejaVu Sans").Output()
	if err != nil || !strings.Contains(string(face), "DejaVu") {
		t.Skip("DejaVu Sans is not installed")
	}
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	fonts := write("fonts.conf", fmt.Sprintf(`<?xml version="1.0"?><!DOCTYPE fontconfig SYSTEM "fonts.dtd"><fontconfig><dir>%s</dir><cachedir>%s</cachedir></fontconfig>`,
		filepath.Dir(string(face)), filepath.Join(dir, "cache")))
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
		"--user-data-dir="+filepath.Join(dir, "profile"), "--virtual-time-budget=10000", "--dump-dom", "file://"+write("page.html", page))
	cmd.Env = append(slices.DeleteFunc(os.Environ(), func(s string) bool { return strings.HasPrefix(s, "FONTCONFIG_") }), "FONTCONFIG_FILE="+fonts)
	dom, err := cmd.Output()
	m := regexp.MustCompile(`(?s)<pre>(.*?)</pre>`).FindSubmatch(dom)
	if m == nil {
		t.Skipf("the browser does not run here: %v: %.200s", err, dom)
	}
	said := html.UnescapeString(string(m[1]))
	// "time from rollout" is 767 px wide in Liberation Sans at 100 px, 868 in DejaVu Sans.
	if width := regexp.MustCompile(`width (\d+)`).FindStringSubmatch(said); width == nil || len(width[1]) < 3 || width[1] < "800" {
		t.Skipf("the browser found another face than DejaVu Sans: %s", width)
	}
	return said
}
