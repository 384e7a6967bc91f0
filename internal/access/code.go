package access

import (
	"crypto/rand"
	"crypto/subtle"
	"fmt"
	"math/big"
	"strings"
	"time"
)

// OWASP ASVS 4.0: a code lives ten minutes at most (2.7.2), is used
// once (2.7.3), and has 20 bits or more from a cryptographic source (2.7.6); eight
// digits are 26.
const (
	codeLife  = 10 * time.Minute
	codeTries = 5
	codeMax   = 100_000_000
)

// Code is a pairing code.
type Code struct {
	Code    string    `json:"code"` // 1234-5678
	Role    Role      `json:"role"` // that the device gets
	Expires time.Time `json:"expires"`
}

// pairing is the code in force. The zero value is none.
type pairing struct {
	digits  string // eight; empty: none
	role    Role
	expires time.Time
	wrong   int
}

func newPairing(role Role, now time.Time) pairing {
	n, err := rand.Int(rand.Reader, big.NewInt(codeMax))
	if err != nil {
		panic("no randomness: " + err.Error()) // crypto/rand ends the program before that
	}
	return pairing{digits: fmt.Sprintf("%08d", n), role: role, expires: now.Add(codeLife)}
}

func (p *pairing) live(now time.Time) bool { return p.digits != "" && now.Before(p.expires) }

func (p *pairing) code() Code {
	return Code{Code: p.digits[:4] + "-" + p.digits[4:], Role: p.role, Expires: p.expires.Round(0).UTC()}
}

func (p *pairing) is(digits string) bool {
	return subtle.ConstantTimeCompare([]byte(p.digits), []byte(digits)) == 1
}

// codeDigits takes the digits out of a code as people write it.
func codeDigits(text string) (string, bool) {
	if len(text) > 64 {
		return "", false
	}
	text = strings.Map(func(r rune) rune {
		switch r {
		case ' ', '\t', '\u00a0', '-', '\u2010', '\u2011', '\u2012', '\u2013', '\u2212':
			return -1
		}
		return r
	}, text)
	return text, len(text) == 8 && digits(text, 8)
}
