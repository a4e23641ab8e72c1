package web

import (
	"context"
	"net/http"

	"fromrest/pkg/archive"
	"fromrest/pkg/format/csv"
)

// columnsView is what a person must see of a table to say what its columns are.
type columnsView struct {
	Columns []mappedView `json:"columns"`
	Rows    [][]string   `json:"rows"`
	Asks    string       `json:"asks"` // why it cannot be read as it stands
	Roles   []roleView   `json:"roles"`
}

type mappedView struct {
	Column string `json:"column"`
	Role   string `json:"role"`
	Unit   string `json:"unit"`
}

type roleView struct {
	Name  string   `json:"name"`
	Units []string `json:"units"`
}

// columns are those of a log that is a table, as they were found, with its first rows. A
// mapping of the sheet that does not fit it is meant for other logs.
func columns(r *http.Request, w *work) (any, error) {
	w.mu.Lock()
	l, mapping := w.log(r.PathValue("sha")), w.reading.Columns
	w.mu.Unlock()
	if l == nil {
		return nil, archive.ErrNotFound
	}
	s, err := w.sighted(r.Context(), l, mapping)
	if err != nil || s.Asks != "" && mapping != "" {
		if bare, e := w.sighted(r.Context(), l, ""); e == nil {
			s, err = bare, nil
		}
	}
	if err != nil {
		return nil, &errEdit{err.Error()}
	}
	return columnsView{Asks: s.Asks, Rows: list(s.Rows),
		Columns: each(s.Columns, func(c csv.MappedColumn) mappedView { return mappedView{c.Column, c.Role, c.Unit} }),
		Roles:   each(csv.MappingRoles(), func(m csv.MappingRole) roleView { return roleView{m.Name, list(m.Units)} })}, nil
}

func (w *work) sighted(ctx context.Context, l *logWork, mapping string) (*csv.Sight, error) {
	in, err := w.s.arch.OpenLog(ctx, l.SHA256)
	if err != nil {
		return nil, err
	}
	defer func() { _ = in.Close() }() // only read
	return csv.Sighted(ctx, in, mapping, rowsShown)
}

// editColumns keeps in the sheet what the columns of its tables are.
func (w *work) editColumns(ctx context.Context, in *editRequest) error {
	m, err := csv.NewMapping(each(in.Columns, func(c mappedView) csv.MappedColumn {
		return csv.MappedColumn{Role: c.Role, Column: c.Column, Unit: c.Unit}
	}))
	if err != nil {
		return &errEdit{err.Error()}
	}
	return w.editField(ctx, &editRequest{Key: "columns", Value: m.String(), Was: in.Was})
}
