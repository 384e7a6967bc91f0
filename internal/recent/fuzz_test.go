package recent

import (
	"encoding/json"
	"testing"
)

// FuzzParse reads whatever a file holds; what was read is written and read again.
func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"schema":"drawbar.recent.1","person":"Driver","uses":[{"field":"Mill Piece","operation":"seeding","product":"Spring oats","tank":1,"since":"2026-05-14T12:00:00Z","at":"2026-05-14T12:00:00Z","area_m2":100,"order":3}]}`))
	f.Add([]byte(`{"schema":"drawbar.recent.1","uses":null}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		read, err := parse(text)
		if err != nil {
			return
		}
		again, err := json.Marshal(read)
		if err != nil {
			t.Fatalf("what was read is not written: %v", err)
		}
		if _, err := parse(again); err != nil {
			t.Fatalf("what was written is not read: %v\n%s", err, again)
		}
	})
}
