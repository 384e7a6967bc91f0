package catalog

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"
)

func markTable() *table[Mark] {
	return &table[Mark]{
		kind: KindMark, name: "mark", parent: "field", order: "left_at, origin",
		columns: []string{"field", "field_name", "kind", "note", "lon_deg", "lat_deg", "left_at", "origin", "done", "settled_at", "settled_by"},
		meta:    func(m *Mark) *Meta { return &m.Meta },
		check:   (*Mark).check,
		cells: func(m *Mark) []any {
			return []any{
				sql.NullString{String: string(m.Field), Valid: m.Field != ""}, m.FieldName, m.Kind, m.Note,
				sql.NullFloat64{Float64: m.LonDeg, Valid: m.HasPlace}, sql.NullFloat64{Float64: m.LatDeg, Valid: m.HasPlace},
				timeText(m.Left), m.Origin, m.Done, timeText(m.Settled), m.SettledBy,
			}
		},
		scan: func(m *Mark) ([]any, func() error) {
			var field sql.NullString
			var lon, lat sql.NullFloat64
			var left, settled string
			return []any{&field, &m.FieldName, &m.Kind, &m.Note, &lon, &lat, &left, &m.Origin, &m.Done, &settled, &m.SettledBy}, func() (err error) {
				m.Field, m.LonDeg, m.LatDeg, m.HasPlace = ID(field.String), lon.Float64, lat.Float64, lon.Valid
				if m.Left, err = parseTime(left); err == nil {
					m.Settled, err = parseTime(settled)
				}
				return err
			}
		},
		context: func(ctx context.Context, q querier, m *Mark) (is problems, err error) {
			if m.Field != "" {
				if err := is.exists(ctx, q, "field", "field", m.Field); err != nil {
					return nil, err
				}
			}
			if m.Origin == "" {
				return is, nil
			}
			var other ID
			err = q.QueryRowContext(ctx, "SELECT id FROM mark WHERE origin = ? AND id <> ?", m.Origin, m.ID).Scan(&other)
			switch {
			case err == nil:
				is.add("origin", shown(m.Origin)+", that of "+string(other), "that of no other mark")
			case !errors.Is(err, sql.ErrNoRows):
				return nil, err
			}
			return is, nil
		},
	}
}

// timeText is a time as it is kept, "" for none. Texts are in the order of times,
// which RFC 3339 with all its digits is.
func timeText(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format("2006-01-02T15:04:05.000000000Z")
}

func parseTime(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}, fmt.Errorf("time: %w", err)
	}
	return t.UTC(), nil
}
