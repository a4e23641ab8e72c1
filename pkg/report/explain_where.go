package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/uncert"
)

// spents are where the time went, each two modes once.
func spents(e *explain.Explanation) []explain.Spent {
	return each(only(pairs(e), func(p pair) bool { return p.apart != nil }), func(p pair) explain.Spent { return *p.apart })
}

// spentWords say what a part is.
var spentWords = map[string]string{explain.SpentLaunch: "launch", explain.SpentGrip: "grip limits one or both", explain.SpentEngine: "the engine limits", explain.SpentSpeeds: "limit not told",
	explain.SpentShifts: "shifts", explain.SpentConditions: "grade and wind", explain.SpentLeft: "left over"}

// spentTable is where the time went between two modes: the parts add up to the measured
// difference.
func spentTable(e *explain.Explanation, s *explain.Spent) *document.Table {
	name, per := SpeedUnit(e.Units)
	table := document.TableOf(document.Titled, fmt.Sprintf("%s less %s, from rest to %s", s.A, s.B, s.Target.Name[2:]), "where", name, "measured, s", "by the sheet, s")
	for _, p := range s.Parts {
		speeds := document.Unknown
		if p.To > 0 {
			speeds = fmt.Sprintf("%.0f to %.0f", p.From/per, p.To/per)
		}
		took := signedValue(p.Seconds)
		if p.What == explain.SpentLeft {
			took = fmt.Sprintf("%+.2f", p.Seconds.X)
		}
		table.Add(spentWords[p.What], speeds, took, signedValue(p.Predicted))
	}
	table.Add("in all", document.Unknown, signedValue(s.Measured), signedValue(s.Predicted))
	return table.WithoutEmpty()
}

// signedValue is a difference for a table.
func signedValue(v uncert.Value) string {
	if math.IsNaN(v.X + v.U) {
		return document.Unknown
	}
	return inTable(v, 1, true)
}

// pair is two modes that traces tell apart.
type pair struct {
	*explain.ForceBand
	apart *explain.Spent // where the time went between them, nil where that is not known
}

// pairs are every two modes that something can be said of, each once.
func pairs(e *explain.Explanation) []pair {
	if e.Traced == nil {
		return nil
	}
	var out []pair
	for i := range e.Traced.Bands {
		p := pair{ForceBand: &e.Traced.Bands[i]}
		if s, ok := e.Where(p.ForceBand); ok {
			p.apart = &s
		}
		if p.apart != nil || p.sentences(e) != "" {
			out = append(out, p)
		}
	}
	return out
}

// sentences tell by how much the two differ and what their forces say of it.
func (p pair) sentences(e *explain.Explanation) string {
	return strings.Join(said(gapSentence(e, p.A, p.B), bandSentence(p.ForceBand, 1, p.B)), " ")
}

// blocks tell the two apart: in brief by the table alone, which has the difference, with
// what caused it as its note.
func (p pair) blocks(e *explain.Explanation, full bool) []document.Block {
	var doc []document.Block
	if text := p.sentences(e); text != "" && (full || p.apart == nil) {
		doc = append(doc, document.Paragraph{Text: text, Layout: document.Layout{Indent: 2}})
	}
	if p.apart == nil {
		return doc
	}
	table := spentTable(e, p.apart)
	if !full {
		d, _ := e.Difference(p.A, p.B, p.apart.Target)
		table.Note = strings.TrimSpace(causeSentence(p.A, d, true))
	}
	return append(doc, table)
}

// pairBlocks tell each two modes apart once.
func pairBlocks(e *explain.Explanation, full bool) []document.Block {
	var doc []document.Block
	for _, p := range pairs(e) {
		if full || p.apart == nil {
			doc = append(doc, part(p.A+" against "+p.B))
		}
		doc = append(doc, p.blocks(e, full)...)
	}
	return doc
}

// foretoldTable sets every mode's predicted times beside the measured means.
func foretoldTable(e *explain.Explanation) *document.Table {
	title := "From rest, measured means"
	if slices.ContainsFunc(e.Predictions, func(p *explain.Prediction) bool { return p.Run != nil }) {
		if title = "From rest, predicted (modelled)"; e.Result != nil {
			title += " beside the measured mean"
		}
	}
	table := document.TableOf(document.Titled, title, "mode", "to", "predicted, s", "measured, s", "runs", "off by, %")
	for _, p := range e.Predictions {
		for _, t := range explain.Targets {
			predicted, measured, runs, off := document.Unknown, document.Unknown, document.Unknown, document.Unknown
			if p.Run != nil {
				predicted = "out of reach"
				if x, ok := p.Time(t); ok {
					predicted = scaled(x, 1)
				}
			}
			m := e.Mean(p.Mode, t)
			if m.N > 0 {
				measured, runs = plusMinus(m.X, m.U95), strconv.Itoa(m.N)
				if d, ok := e.OffBy(p, t); ok {
					off = inTable(d, 1, true)
				}
			}
			if p.Run != nil || m.N > 0 {
				table.Add(p.Mode, strings.TrimPrefix(t.Name, "0-"), predicted, measured, runs, off)
			}
		}
	}
	return table.WithoutEmpty()
}

// once are the sentences that several modes share, each once, in the order met.
func once(e *explain.Explanation, of func(*explain.Prediction) []string) []string {
	var out []string
	for _, p := range e.Predictions {
		for _, s := range of(p) {
			if !slices.Contains(out, s) {
				out = append(out, s)
			}
		}
	}
	return out
}

// brief is the answer alone: what is contradicted, each mode's times, where the time went
// between every two, and what it all rests on.
func brief(e *explain.Explanation) []document.Block {
	doc := listed("Contradicted", e.Against)
	if t := foretoldTable(e); len(t.Rows) > 0 {
		doc = append(doc, t)
	}
	doc = append(doc, pairBlocks(e, false)...)
	doc = append(doc, listed("What limits on the way to 60 mph (modelled)", said(each(e.Predictions, func(p *explain.Prediction) string {
		if p.Run == nil {
			return ""
		}
		parts, _ := limitParts(e, p, true)
		return p.Mode + ": " + strings.Join(parts, ", ")
	})...))...)
	return append(doc, basis(e)...)
}

// shown are the values that the traces tell of the vehicle: keys in order, and of each
// what is said.
func shown(e *explain.Explanation) (keys []string, said map[string]string) {
	said = map[string]string{}
	for _, o := range e.Offered() {
		text := figures(o.X, 2)
		switch {
		case math.IsNaN(o.Hi):
			text = "at least " + text
		case o.Key == explain.OfferedBuildUp: // its limits lie far apart and unevenly
			text += fmt.Sprintf(" (%s–%s)", figures(o.Lo, 2), figures(o.Hi, 2))
		default:
			text = plusMinus(o.X, (o.Hi-o.Lo)/2)
		}
		if o.Key == explain.OfferedPower {
			text += " kW"
		}
		if o.Mode != "" {
			text = o.Mode + " " + text
		}
		if before, again := said[o.Key]; again {
			text = before + ", " + text
		} else {
			keys = append(keys, o.Key)
		}
		said[o.Key] = text
	}
	return keys, said
}

// offered are the values that the traces tell of the vehicle, each key in a line.
func offered(e *explain.Explanation) []document.Block {
	keys, said := shown(e)
	return listed("Shown by the traces", each(keys, func(k string) string { return k + ": " + said[k] }))
}

// basis is what a short explanation rests on: what the sheet lacks and what was assumed.
func basis(e *explain.Explanation) []document.Block {
	doc := listed("Missing from the sheet, and what each would unlock", each(missingKeys(e), func(m explain.Missing) string { return m.Key + ": " + m.Unlocks }))
	keys, traces := shown(e)
	assumed := each(said(once(e, func(p *explain.Prediction) []string { return p.Assumed })...), func(text string) string {
		for _, k := range keys {
			if strings.Contains(text, k) {
				text += " By the traces: " + traces[k] + "."
			}
		}
		return text
	})
	return append(doc, listed("Assumed", assumed)...)
}

// missingKeys are what the sheet lacks, each key once.
func missingKeys(e *explain.Explanation) []explain.Missing {
	var out []explain.Missing
	add := func(all []explain.Missing) {
		for _, m := range all {
			if !slices.ContainsFunc(out, func(o explain.Missing) bool { return o.Key == m.Key }) {
				out = append(out, m)
			}
		}
	}
	for _, p := range e.Predictions {
		add(p.Missing)
	}
	if e.Traced != nil {
		add(e.Traced.Missing)
	}
	return out
}
