package report

import (
	"fmt"
	"html"
	"html/template"
	"io"
	"strings"

	"fromrest/pkg/figure"
	"fromrest/pkg/vehicle/driveline"
)

// WheelsHTML writes what each wheel does and the torque on every shaft as one
// self-contained page with the driveline drawn from above.
func WheelsHTML(w io.Writer, title string, c *driveline.Chassis, s *driveline.State) error {
	var b, text strings.Builder
	fmt.Fprintf(&b, "<figure>%s</figure>\n", figure.Driveline(title, c, s).InlineSVG("wheels"))
	b.WriteString(`<div class="scroll" tabindex="0" role="region" aria-label="Wheels"><table class="timing"><thead><tr><th scope="col">wheel</th><th scope="col">load, N</th><th scope="col">grip, N</th><th scope="col">torque, N·m</th><th scope="col">thrust, N</th><th scope="col">does</th></tr></thead><tbody>` + "\n")
	for i, x := range s.Wheel {
		fmt.Fprintf(&b, "<tr><th scope=\"row\">%s</th><td>%.0f</td><td>%.0f</td><td>%.0f</td><td>%.0f</td><td>%s</td></tr>\n",
			driveline.WheelName(i), x.Load, x.Limit, x.Torque, x.Thrust, html.EscapeString(s.Does(i)))
	}
	b.WriteString("</tbody></table></div>\n")
	if err := WheelsText(&text, title, s); err != nil {
		return err
	}
	lines := strings.Split(strings.TrimSpace(text.String()), "\n")
	var rest []string
	for i, l := range lines {
		if i > 1+driveline.Wheels { // after the title, the head and the wheels
			rest = append(rest, strings.TrimSpace(l))
		}
	}
	list(&b, rest)
	b.WriteString("<h3>Cautions</h3>\n")
	list(&b, append([]string{"Never stage wheels in the air or without grip on a road."}, explainCautions()...))
	return explainPage.Execute(w, struct {
		Title, Lead string
		Style       template.CSS
		Section     Section
	}{title, "The most this driveline can push on such a ground, by the sheet's data (modelled).", template.CSS(figure.CSS() + pageStyle),
		Section{Title: "Wheels and shafts", Body: template.HTML(b.String())}})
}
