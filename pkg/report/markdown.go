package report

import (
	"fmt"
	"io"
	"strings"

	"fromrest/pkg/session"
)

// RunsMarkdown writes the timing table as Markdown with its footnotes, flags
// and warnings.
func RunsMarkdown(w io.Writer, res *session.Result) error {
	var b strings.Builder
	if t := TimingTable(res); len(t.Columns) > 0 {
		b.WriteString(TableMarkdown(t))
	}
	if t := BrakingTable(res); len(t.Columns) > 0 {
		b.WriteString("\n**Braking**\n\n" + TableMarkdown(t))
	}
	if len(res.Runs) == 0 {
		b.WriteString("No run was found.\n")
	}
	for _, part := range []struct {
		title string
		lines []string
	}{{"Flags", flagLines(res)}, {"Warnings", res.Warnings}} {
		if len(part.lines) == 0 {
			continue
		}
		fmt.Fprintf(&b, "\n**%s**\n\n", part.title)
		for _, l := range part.lines {
			b.WriteString("- " + escapeMarkdown(l) + "\n")
		}
	}
	if len(res.Runs) > 0 {
		b.WriteString("\nTimes in seconds; ± is half of the 95 % interval. With rollout, time and distance count from the instant 1 ft (0.3048 m) has been covered.\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// TableMarkdown writes a table as Markdown with its footnotes beneath.
func TableMarkdown(t *Table) string {
	var b strings.Builder
	b.WriteString("| |")
	for _, c := range t.Columns {
		b.WriteString(" " + struckMarkdown(escapeMarkdown(c.Name), c.Struck) + " |")
	}
	b.WriteString("\n|:--|" + strings.Repeat("--:|", len(t.Columns)) + "\n")
	section := SectionRun
	for _, r := range t.Rows {
		if r.Section != section {
			section = r.Section
			fmt.Fprintf(&b, "| **%s** |%s\n", section, strings.Repeat(" |", len(t.Columns)))
		}
		b.WriteString("| " + escapeMarkdown(r.Label()) + " |")
		for _, c := range r.Cells {
			v, h := c.Printed()
			if r.Unit == "" {
				v = escapeMarkdown(v)
			}
			if h != "" {
				v += " ±" + h
			}
			v = struckMarkdown(v, c.Struck)
			for _, n := range c.Notes {
				v += "<sup>" + strings.Trim(noteMark(n), "[]") + "</sup>"
			}
			b.WriteString(" " + v + " |")
		}
		b.WriteString("\n")
	}
	if len(t.Notes) > 0 {
		b.WriteString("\n")
	}
	for i, n := range t.Notes {
		b.WriteString("<sup>" + strings.Trim(noteMark(i), "[]") + "</sup> " + escapeMarkdown(n) + "  \n")
	}
	return b.String()
}

func struckMarkdown(s string, struck bool) string {
	if !struck || strings.TrimSpace(s) == "" {
		return s
	}
	return "~~" + s + "~~"
}

var markdownEscaper = strings.NewReplacer(`\`, `\\`, "|", `\|`, "*", `\*`, "_", `\_`, "<", "&lt;", "`", "\\`", "~", `\~`, "\n", " ")

func escapeMarkdown(s string) string { return markdownEscaper.Replace(s) }
