package live

import "testing"

func TestWorkSince(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name      string
		added     int
		clear     bool
		more      int
		after     uint64
		wantFirst uint64 // 0: none
		wantCount int
		wantWhole bool
	}{
		{"nothing yet", 0, false, 0, 0, 0, 0, true},
		{"another run", 0, false, 0, 9, 0, 0, false},
		{"all", 5, false, 0, 0, 1, 5, true},
		{"the rest", 5, false, 0, 3, 4, 2, true},
		{"up to date", 5, false, 0, 5, 0, 0, true},
		{"beyond", 5, false, 0, 6, 1, 5, false},
		{"round the ring", keepPieces + 10, false, 0, 0, 11, keepPieces, false},
		{"just kept", keepPieces + 10, false, 0, 10, 11, keepPieces, true},
		{"after it went back", 5, true, 0, 5, 0, 0, false},
		{"after it went back and on", 5, true, 3, 5, 7, 3, false},
	} {
		var h Hub
		h.AddWork(make([]Piece, c.added))
		if c.clear {
			h.ClearWork()
		}
		h.AddWork(make([]Piece, c.more))
		got, whole := h.WorkSince(nil, c.after)
		if len(got) != c.wantCount || whole != c.wantWhole {
			t.Errorf("%s: got %d pieces, whole %v; want %d, %v", c.name, len(got), whole, c.wantCount, c.wantWhole)
			continue
		}
		for i, p := range got {
			if want := c.wantFirst + uint64(i); p.Number != want {
				t.Errorf("%s: piece %d has number %d, want %d", c.name, i, p.Number, want)
			}
		}
	}
}
