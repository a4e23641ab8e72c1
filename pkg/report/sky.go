package report

import (
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/recording"
)

// skyItems describes what a receiver said of the satellites: medians, with the
// range in brackets. There is none where it said nothing.
func skyItems(sky *recording.Sky) []document.Term {
	if sky == nil {
		return nil
	}
	text := func(parts ...string) string { return strings.Join(said(parts...), "; ") }
	return only([]document.Term{
		{Name: "satellites", Text: text(spreadText("", sky.Used, " used"), spreadText("", sky.Tracked, " with a signal"))},
		{Name: "dilution", Text: text(spreadText("HDOP ", sky.HDOP, ""), spreadText("VDOP ", sky.VDOP, ""), spreadText("PDOP ", sky.PDOP, ""))},
		{Name: "signals", Text: text(spreadText("C/N0 ", sky.CN0, " dBHz, of the median satellite"))},
	}, func(t document.Term) bool { return t.Text != "" })
}

// spreadText prints a median and its range, "" where there is none.
func spreadText(before string, s recording.Spread, after string) string {
	if s.N == 0 {
		return ""
	}
	text := before + trimZeros(s.Median, 2) + after
	if s.Low < s.High {
		text += " (" + trimZeros(s.Low, 2) + " to " + trimZeros(s.High, 2) + ")"
	}
	return text
}

type jsonSky struct {
	Used    *jsonSpread `json:"satellites_used,omitempty"`
	Tracked *jsonSpread `json:"satellites_tracked,omitempty"`
	PDOP    *jsonSpread `json:"pdop,omitempty"`
	HDOP    *jsonSpread `json:"hdop,omitempty"`
	VDOP    *jsonSpread `json:"vdop,omitempty"`
	CN0     *jsonSpread `json:"cn0_dbhz,omitempty"`
}

type jsonSpread struct {
	Samples int      `json:"samples"`
	Median  *float64 `json:"median"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
}

func skyJSON(sky *recording.Sky) *jsonSky {
	if sky == nil {
		return nil
	}
	spread := func(s recording.Spread) *jsonSpread {
		if s.N == 0 {
			return nil
		}
		return &jsonSpread{s.N, number(s.Median), number(s.Low), number(s.High)}
	}
	return &jsonSky{Used: spread(sky.Used), Tracked: spread(sky.Tracked),
		PDOP: spread(sky.PDOP), HDOP: spread(sky.HDOP), VDOP: spread(sky.VDOP), CN0: spread(sky.CN0)}
}
