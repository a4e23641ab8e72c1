package report

import (
	"errors"
	"fmt"
	"html"
	"html/template"
	"strings"

	"fromrest/pkg/figure"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
)

// CompareSection is the report's part on the modes against each other: at each
// headline target, with rollout and from rest, the times as dots and intervals,
// the differences and the verdicts in words; then the mean traces and the time
// gained along the way.
func CompareSection(res *session.Result, cmp *compare.Result) (Section, error) {
	s := Section{ID: "compare", Title: "Modes compared"}
	var b strings.Builder
	for _, w := range cmp.Warnings {
		fmt.Fprintf(&b, "<p class=\"flag\">%s</p>\n", html.EscapeString(w))
	}
	b.WriteString("<p class=\"note\">" + familyNote + " In the figures: the mean with its interval, beneath it each run; discs went the first way, rings the other, crosses do not count.</p>\n")
	for i, t := range cmp.Targets {
		if err := sectionTarget(&b, t, i, res.Settings.Units); err != nil {
			return s, err
		}
	}
	if err := sectionTraces(&b, res, cmp); err != nil {
		return s, err
	}
	s.Body = template.HTML(b.String())
	return s, nil
}

func sectionTarget(b *strings.Builder, t *compare.Target, i int, units string) error {
	e := html.EscapeString
	fmt.Fprintf(b, "<article><h3>%s <span class=\"note\">%s</span></h3>\n", e(t.Name), e(OriginName(timing.Origin(t.From))))
	b.WriteString("<figure>")
	for _, v := range []struct {
		class string
		size  figure.Size
	}{{"wide", figure.Wide}, {"slim", figure.Narrow}} {
		f, err := figure.ModeDots(t, figure.Options{Units: units, Size: v.size})
		if err != nil {
			return err
		}
		fmt.Fprintf(b, "<div class=\"%s\">%s</div>", v.class, f.InlineSVG(fmt.Sprintf("dots-%d-%s", i, v.class)))
	}
	b.WriteString("</figure>\n<ul>")
	for k := range t.Pairs {
		fmt.Fprintf(b, "<li>%s</li>", e(t.Pairs[k].Sentence))
	}
	b.WriteString("</ul>\n")
	htmlRows(b, modeRows(t), "Modes at "+t.Name)
	htmlRows(b, pairRows(t), "Differences at "+t.Name)
	fmt.Fprintf(b, "<p class=\"note\">%s</p>\n", e(modelSentence(t)))
	for _, w := range t.Warnings {
		fmt.Fprintf(b, "<p class=\"flag\">%s</p>\n", e(w))
	}
	b.WriteString("</article>\n")
	return nil
}

func htmlRows(b *strings.Builder, rows [][]string, label string) {
	fmt.Fprintf(b, "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"%s\"><table><thead><tr>", html.EscapeString(label))
	for _, h := range rows[0] {
		fmt.Fprintf(b, "<th scope=\"col\">%s</th>", html.EscapeString(h))
	}
	b.WriteString("</tr></thead><tbody>")
	for _, r := range rows[1:] {
		for c, s := range r {
			if c == 0 {
				fmt.Fprintf(b, "<tr><th scope=\"row\">%s</th>", html.EscapeString(s))
				continue
			}
			v, h, ok := strings.Cut(html.EscapeString(s), " ±")
			if ok {
				v = `<span class="v">` + v + `</span><span class="u">±` + h + `</span>`
			}
			fmt.Fprintf(b, "<td>%s</td>", v)
		}
		b.WriteString("</tr>")
	}
	b.WriteString("</tbody></table></div>\n")
}

// sectionTraces adds the figures along the run.
func sectionTraces(b *strings.Builder, res *session.Result, cmp *compare.Result) error {
	names := ModeOrder(cmp)
	for _, d := range []struct {
		id string
		f  func(figure.Options) (*figure.Figure, error)
	}{
		{"mean-time", func(o figure.Options) (*figure.Figure, error) {
			return figure.ModeTraces(res.Runs, names, figure.ByTime, o)
		}},
		{"gained", func(o figure.Options) (*figure.Figure, error) { return figure.TimeGained(res.Runs, names, o) }},
	} {
		var fig strings.Builder
		caption := ""
		for _, v := range []struct {
			class string
			size  figure.Size
		}{{"wide", figure.Wide}, {"slim", figure.Narrow}} {
			f, err := d.f(figure.Options{Units: res.Settings.Units, Size: v.size})
			if errors.Is(err, figure.ErrNoMode) {
				break
			} else if err != nil {
				return err
			}
			caption = f.Title + "."
			fmt.Fprintf(&fig, "<div class=\"%s\">%s</div>", v.class, f.InlineSVG(d.id+"-"+v.class))
		}
		if fig.Len() > 0 {
			fmt.Fprintf(b, "<figure>%s<figcaption>%s</figcaption></figure>\n", fig.String(), html.EscapeString(caption))
		}
	}
	return nil
}

// ModeOrder is the modes of a comparison in its order.
func ModeOrder(cmp *compare.Result) []string {
	var names []string
	seen := map[string]bool{}
	for _, t := range cmp.Targets {
		for _, m := range t.Modes {
			if !seen[m.Name] {
				seen[m.Name] = true
				names = append(names, m.Name)
			}
		}
	}
	return names
}

// compared is the report's section on its modes, false where there is nothing to
// compare.
func compared(res *session.Result, targets []string) (Section, bool, error) {
	cmp, err := session.Compare(res, session.CompareOptions{Targets: headlineTargets(res, targets),
		From: []timing.Origin{timing.FromRollout, timing.FromRest}})
	if err != nil || len(cmp.Targets) == 0 {
		return Section{}, false, nil // one mode, or none that reached a target
	}
	s, err := CompareSection(res, cmp)
	return s, err == nil, err
}
