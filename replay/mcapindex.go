package replay

import (
	"encoding/binary"
	"hash/crc32"
	"io"
)

// ReadSummed reads what a packed session says of itself, by its index and without
// its lines. ok is false where the file has no such index or it is damaged: then
// only reading all of it tells.
func ReadSummed(r io.ReaderAt, size int64) (h Head, c Contents, ok bool) {
	const end = recordHead + footerSize + len(mcapMagic)
	var tail [end]byte
	if _, err := r.ReadAt(tail[:], size-int64(end)); err != nil && err != io.EOF || size < int64(end) {
		return h, c, false
	}
	if tail[0] != opFooter || binary.LittleEndian.Uint64(tail[1:]) != footerSize || string(tail[recordHead+footerSize:]) != mcapMagic {
		return h, c, false
	}
	start := binary.LittleEndian.Uint64(tail[recordHead:])
	stop := uint64(size) - uint64(end)
	if start == 0 || start > stop || stop-start > maxRecord {
		return h, c, false
	}
	summary := make([]byte, stop-start)
	if _, err := r.ReadAt(summary, int64(start)); err != nil {
		return h, c, false
	}
	sum := crc32.ChecksumIEEE(summary)
	sum = crc32.Update(sum, crc32.IEEETable, tail[:recordHead+footerSize-4])
	if sum != binary.LittleEndian.Uint32(tail[recordHead+footerSize-4:]) {
		return h, c, false
	}
	seen := 0
	for len(summary) > 0 {
		op, content, ok := inner(summary)
		if !ok {
			return h, c, false
		}
		summary = summary[recordHead+len(content):]
		if op != opMetadataIndex {
			continue
		}
		name, pairs, ok := metadataAt(r, content)
		if !ok {
			return h, c, false
		}
		switch name {
		case headName:
			h = parseHead(pairs)
			seen |= 1
		case contentsName:
			c = parseContents(pairs)
			seen |= 2
		}
	}
	return h, c, seen == 3
}

// metadataAt reads the metadata record that an index record points to.
func metadataAt(r io.ReaderAt, index []byte) (name string, pairs []pair, ok bool) {
	if len(index) < 16 {
		return "", nil, false
	}
	at, n := binary.LittleEndian.Uint64(index), binary.LittleEndian.Uint64(index[8:])
	if n < recordHead || n > maxRecord || at > 1<<62 {
		return "", nil, false
	}
	record := make([]byte, n)
	if _, err := r.ReadAt(record, int64(at)); err != nil {
		return "", nil, false
	}
	op, content, ok := inner(record)
	if !ok || op != opMetadata {
		return "", nil, false
	}
	return parsePairs(content)
}
