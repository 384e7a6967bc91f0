package catalog

import (
	"crypto/rand"
	"encoding/base32"
)

// ID names an item for good: 128 random bits as 26 letters and digits, or "" for
// none.
type ID string

const idAlphabet = "abcdefghijklmnopqrstuvwxyz234567"

func idEncoding() *base32.Encoding {
	return base32.NewEncoding(idAlphabet).WithPadding(base32.NoPadding)
}

// NewID makes an id that no other item has, anywhere.
func NewID() ID {
	var b [16]byte
	rand.Read(b[:]) // never fails, by its documentation
	return ID(idEncoding().EncodeToString(b[:]))
}

// Valid tells whether id is one that NewID could have made.
func (id ID) Valid() bool {
	b, err := idEncoding().DecodeString(string(id))
	return err == nil && len(b) == 16 && idEncoding().EncodeToString(b) == string(id)
}
