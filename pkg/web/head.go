package web

import (
	"context"
	"mime"
	"strings"
	"time"

	"fromrest/pkg/sheet"
)

// headKeys are the entries of the sheet that have a field of their own.
var headKeys = map[string]struct{ table, key, name string }{
	"title":   {"", "title", "title"},
	"date":    {"", "date", "date"},
	"place":   {"", "place", "place"},
	"notes":   {"", "notes", "notes"},
	"vehicle": {"vehicle", "name", "vehicle"},
	"surface": {"conditions", "surface", "surface"},
}

// editHead changes one field of the head of the sheet.
func (w *work) editHead(ctx context.Context, in *editRequest) error {
	k, ok := headKeys[in.Key]
	if !ok {
		return &errEdit{"no such field"}
	}
	value := clean(in.Value, 1000)
	written := sheet.Quote(value)
	if in.Key == "date" && value != "" {
		if _, err := time.Parse(time.DateOnly, value); err != nil {
			return &errEdit{"date " + value + ": want a day such as 2026-06-14"}
		}
		written = value
	}
	return w.edit(ctx, k.name+": "+value, func(b string) (string, error) {
		b = setKey(b, k.table, k.key, written)
		p, err := sheet.Parse(b, sheetName)
		if err != nil {
			return "", &errEdit{err.Error()}
		}
		now := map[string]string{"title": p.Title, "place": p.Place, "notes": p.Notes, "vehicle": p.Vehicle.Name,
			"surface": p.Conditions.Surface, "date": ""}
		if !p.Date.IsZero() {
			now["date"] = p.Date.Format(time.DateOnly)
		}
		if strings.TrimSpace(now[in.Key]) != value {
			return "", &errEdit{"the " + k.name + " is written in the sheet in a way that this field cannot change; edit the sheet as text"}
		}
		return b, nil
	})
}

// contentDisposition names a download; the header is built, never pasted.
func contentDisposition(name string) string {
	return mime.FormatMediaType("attachment", map[string]string{"filename": name})
}
