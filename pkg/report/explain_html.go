package report

import (
	"html/template"
	"io"

	"fromrest/pkg/figure"
	"fromrest/pkg/session/explain"
)

// explainPage is a whole page around the section of the report.
var explainPage = template.Must(template.New("explain").Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{{.Title}}</title>
<style>{{.Style}}</style>
</head>
<body>
<header>
<p class="kind">Acceleration test sheet</p>
<h1>{{.Title}}</h1>
<p class="lead">{{.Lead}}</p>
</header>
<main>
<section id="explain" aria-labelledby="h-explain"><h2 id="h-explain">{{.Section.Title}}</h2>
{{.Section.Body}}
</section>
</main>
</body>
</html>
`))

// ExplainHTML writes an explanation as one self-contained page: no network, no
// scripts, figures inlined.
func ExplainHTML(w io.Writer, e *explain.Explanation, title string) error {
	s, err := ExplainSection(e)
	if err != nil {
		return err
	}
	if title == "" {
		title = "Why the modes differ"
	}
	first := "What the sheet's data predict; no logs were given."
	if e.Result != nil {
		first = lead(e.Result) + " Behind each number stands whether it is measured, modelled or assumed."
	}
	return explainPage.Execute(w, struct {
		Title, Lead string
		Style       template.CSS
		Section     Section
	}{title, first, template.CSS(figure.CSS() + pageStyle), s})
}
