package replay

import (
	"bytes"
	"strings"
	"testing"

	"github.com/foxglove/mcap/go/mcap"
)

// foreign writes a file as another program would, with an attachment, a schema
// and channels of other numbers, and reads it.
func foreign(t *testing.T, packing string) {
	t.Helper()
	opts := &mcap.WriterOptions{Chunked: true, IncludeCRC: true, ChunkSize: 500, Compression: mcap.CompressionNone}
	if packing == "lz4" {
		opts.Compression = mcap.CompressionLZ4
	}
	var file bytes.Buffer
	w, err := mcap.NewWriter(&file, opts)
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	check(err)
	check(w.WriteHeader(&mcap.Header{Profile: "other"}))
	check(w.WriteAttachment(&mcap.Attachment{Name: "photo", DataSize: 10, Data: strings.NewReader("0123456789")}))
	check(w.WriteMetadata(&mcap.Metadata{Name: "calibration", Metadata: map[string]string{"a": "b"}}))
	check(w.WriteSchema(&mcap.Schema{ID: 1, Name: "s", Encoding: "text", Data: []byte("x")}))
	check(w.WriteChannel(&mcap.Channel{ID: 1, Topic: "temperature", MessageEncoding: "json", SchemaID: 1}))
	check(w.WriteChannel(&mcap.Channel{ID: 9, Topic: "gnss", MessageEncoding: "text"}))
	for i := range 50 {
		check(w.WriteMessage(&mcap.Message{ChannelID: 1, LogTime: uint64(i), Data: []byte("{}")}))
		check(w.WriteMessage(&mcap.Message{ChannelID: 9, LogTime: uint64(i) * 1e9, Data: []byte("$GPGGA")}))
	}
	check(w.Close())
	m, lines, damage := readMCAP(t, file.Bytes())
	if packing == "lz4" {
		if len(lines) > 0 || len(damage) == 0 || !strings.Contains(damage[0].Why, "want zstd") {
			t.Errorf("got %d lines, damage %v; want to be told of the packing", len(lines), damage)
		}
		return
	}
	if len(lines) != 50 || len(damage) > 0 || !m.Closed() {
		t.Errorf("got %d lines, damage %v, closed %v; want 50, none, true", len(lines), damage, m.Closed())
	}
}
