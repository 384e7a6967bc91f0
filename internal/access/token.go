package access

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"strings"
)

// CookieName is the cookie that carries a device's token.
const CookieName = "drawbar_device"

// cookieAge is the longest life of a cookie, 400 days: RFC 6265bis (draft 14),
// section 5.5. It starts anew whenever the page is opened.
const cookieAge = 400 * 24 * 60 * 60 // seconds

// maxTokens bounds the tokens looked at in a request: cookies know no port, so
// another program of the same host may have set one of that name too.
const maxTokens = 4

// digest is the SHA-256 of a token. The token has 256 random bits, so neither salt
// nor a slow hash would add anything.
type digest = [sha256.Size]byte

// newToken makes a token: 43 characters of unpadded base64url (RFC 4648, section 5).
func newToken() string {
	var b [32]byte
	_, _ = rand.Read(b[:]) // never fails: it ends the program instead
	return base64.RawURLEncoding.EncodeToString(b[:])
}

// digestOf is that of a token that has the form of one.
func digestOf(token string) (digest, bool) {
	if len(token) != 43 {
		return digest{}, false
	}
	if _, err := base64.RawURLEncoding.Strict().DecodeString(token); err != nil {
		return digest{}, false
	}
	return sha256.Sum256([]byte(token)), true
}

// tokens are those that a request carries, that of a program first.
func tokens(r *http.Request) []string {
	var out []string
	for _, line := range r.Header["Authorization"] {
		// the scheme's name has no case: RFC 9110, section 11.1
		if scheme, token, ok := strings.Cut(line, " "); ok && strings.EqualFold(scheme, "Bearer") {
			out = append(out, strings.TrimSpace(token))
		}
	}
	for _, c := range r.CookiesNamed(CookieName) {
		out = append(out, c.Value)
	}
	return out[:min(len(out), maxTokens)]
}

// cookie carries a token back to a browser. OWASP ASVS 4.0, 3.4.1 to 3.4.5, from
// memory: Secure where there is TLS, HttpOnly, SameSite, Path.
func cookie(token string, secure bool) *http.Cookie {
	return &http.Cookie{
		Name: CookieName, Value: token, Path: "/", MaxAge: cookieAge,
		HttpOnly: true, SameSite: http.SameSiteStrictMode, Secure: secure,
	}
}
