package replay

import (
	"errors"
	"fmt"
	"io"

	"github.com/foxglove/mcap/go/mcap"
	"github.com/klauspost/compress/zstd"
)

const (
	// packChunk is the size at which a chunk is closed, before packing: about a
	// minute of a working day, so much is lost with one damaged chunk. Four times
	// as much packs no better.
	packChunk  = 256 << 10
	packWindow = 512 << 10
)

// Packer writes a packed session: the same lines in compressed chunks, with an
// index and checksums. Nothing of it is a session until Close has returned.
type Packer struct {
	lib    *mcap.Writer
	chunks uint64
	open   bool // the chunk in hand has its channel records
	msg    mcap.Message
}

// NewPacker begins a packed session on w.
func NewPacker(w io.Writer, head Head) (*Packer, error) {
	head.First, head.Part = max(head.First, 1), max(head.Part, 1)
	encoder, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedDefault), zstd.WithEncoderConcurrency(1), zstd.WithWindowSize(packWindow))
	if err != nil {
		return nil, fmt.Errorf("begin a packed session: %w", err)
	}
	lib, err := mcap.NewWriter(w, &mcap.WriterOptions{
		IncludeCRC: true, Chunked: true, ChunkSize: packChunk, SkipMessageIndexing: true,
		Compressor: mcap.NewCustomCompressor(mcap.CompressionZSTD, encoder),
	})
	if err == nil {
		err = lib.WriteHeader(&mcap.Header{Profile: mcapProfile})
	}
	if err == nil {
		err = lib.WriteMetadata(metadataOf(headName, head.pairs()))
	}
	if err != nil {
		return nil, fmt.Errorf("begin a packed session: %w", err)
	}
	return &Packer{lib: lib}, nil
}

// Append adds one event and its number.
func (p *Packer) Append(e Event, seq uint32) error {
	at, err := logTime(e)
	if err != nil {
		return err
	}
	if !p.open {
		// Each chunk can be read without the others.
		for s := StreamGNSS; s <= StreamOperator; s++ {
			if err := p.lib.WriteChannel(channelRecord(s)); err != nil {
				return fmt.Errorf("pack a session: %w", err)
			}
		}
		p.open = true
	}
	p.msg = mcap.Message{ChannelID: channelOf(e.Stream), Sequence: seq, LogTime: at, PublishTime: at, Data: e.Line}
	if err := p.lib.WriteMessage(&p.msg); err != nil {
		return fmt.Errorf("pack a session: %w", err)
	}
	if n := uint64(p.lib.Statistics.ChunkCount); n != p.chunks {
		p.chunks, p.open = n, false
	}
	return nil
}

// Close ends the session with what it holds.
func (p *Packer) Close(c Contents) error {
	err := p.lib.WriteMetadata(metadataOf(contentsName, c.pairs()))
	if err == nil {
		err = p.lib.Close()
	}
	if err != nil {
		return fmt.Errorf("end a packed session: %w", err)
	}
	return nil
}

// Pack writes what src holds to w as a packed session and returns what that is.
// Damaged places are told to damaged, which may be nil, and left out. So it also
// mends a session that was cut: what counts of it is then in a file with an end.
func Pack(src *MCAPReader, w io.Writer, damaged func(*CorruptError)) (Contents, error) {
	var p *Packer
	var survey Survey
	begin := func() (err error) {
		if p == nil {
			head, _ := src.Head()
			survey.Head(head)
			p, err = NewPacker(w, head)
		}
		return err
	}
	for {
		e, err := src.Next()
		var corrupt *CorruptError
		if errors.As(err, &corrupt) {
			survey.Damage(corrupt)
			if damaged != nil {
				damaged(corrupt)
			}
			continue
		}
		if err != nil && err != io.EOF {
			return Contents{}, err
		}
		if err := begin(); err != nil {
			return Contents{}, err
		}
		if err == io.EOF {
			c := survey.Contents(src)
			return c, p.Close(c)
		}
		survey.Add(e, src.Seq())
		if err := p.Append(e, src.Seq()); err != nil {
			return Contents{}, err
		}
	}
}

// Verify compares a packed session with the one that it was made of: the packed
// one must be whole and have the same lines. Damage of the first is passed over,
// as Pack did.
func Verify(src, packed *MCAPReader) error {
	for n := 1; ; n++ {
		want, err := nextSound(src)
		if err != nil && err != io.EOF {
			return err
		}
		got, gotErr := packed.Next()
		if gotErr != nil && gotErr != io.EOF {
			return fmt.Errorf("read back what was packed: %w", gotErr)
		}
		if (err == io.EOF) != (gotErr == io.EOF) {
			return fmt.Errorf("read back what was packed: it ends at line %d", n)
		}
		if err == io.EOF {
			break
		}
		if !got.At.Equal(want.At) || got.Stream != want.Stream || string(got.Line) != string(want.Line) || packed.Seq() != src.Seq() {
			return fmt.Errorf("read back what was packed: line %d differs", n)
		}
	}
	if !packed.Closed() {
		return errors.New("read back what was packed: it has no end")
	}
	was, _ := src.Head()
	was.First, was.Part = max(was.First, 1), max(was.Part, 1)
	if is, _ := packed.Head(); is != was {
		return errors.New("read back what was packed: its head differs")
	}
	return nil
}

// nextSound is the next event behind any damage.
func nextSound(src Source) (Event, error) {
	for {
		e, err := src.Next()
		var corrupt *CorruptError
		if !errors.As(err, &corrupt) {
			return e, err
		}
	}
}
