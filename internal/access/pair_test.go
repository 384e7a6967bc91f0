package access

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func stranger(addr string) context.Context {
	return with(context.Background(), Identity{Addr: addrOf(addr)})
}

func wantError(t testing.TB, what string, err error, status int) {
	t.Helper()
	if err == nil || AsError(err).Status != status {
		t.Errorf("%s: %v, want status %d", what, err, status)
	}
}

// other is a code that is not the one given.
func other(code string) string { return string('0'+(code[0]-'0'+1)%10) + code[1:] }

// OWASP ASVS 4.0, 2.7.2 and 2.7.3: ten minutes, once.
func TestCodeExpiresAndServesOnce(t *testing.T) {
	t.Parallel()
	b := newBoard(t, fileIn(t))
	wantStatus(t, "stranger", b.ask("GET", "/api/access"), 200)
	code := b.console.last(t)
	if len(code) != 9 || code[4] != '-' || !digits(code[:4]+code[5:], 8) {
		t.Fatalf("code %q, want 1234-5678", code)
	}
	if b.ask("GET", "/api/access"); b.console.count() != 1 {
		t.Errorf("%d codes shown, want one while it is in force", b.console.count())
	}
	shown, err := b.Code(local())
	if err != nil || shown.Code != code || shown.Role != Operator || !shown.Expires.Equal(b.clock.now().Add(10*time.Minute)) {
		t.Errorf("code on the board %+v %v, want %s for an operator for ten minutes", shown, err, code)
	}
	b.clock.add(10*time.Minute - time.Nanosecond)
	wantStatus(t, "just in time", b.ask("POST", "/api/access/pair", body(`{"code":"`+strings.ReplaceAll(code, "-", " – ")+`"}`)), 200)
	_, err = b.Pair(stranger("192.0.2.60:1"), code, "")
	wantError(t, "second use", err, 403)

	b.clock.add(time.Hour)
	b.ask("GET", "/api/access")
	code = b.console.last(t)
	b.clock.add(10 * time.Minute)
	_, err = b.Pair(stranger("192.0.2.61:1"), code, "")
	wantError(t, "too late", err, 403)
	if b.console.last(t) == code {
		t.Error("no new code was shown for the late one")
	}
	if _, err := b.Pair(stranger("192.0.2.61:1"), b.console.last(t), ""); err != nil {
		t.Errorf("the new code: %v", err)
	}
}

func TestFiveWrongTries(t *testing.T) {
	t.Parallel()
	b := newBoard(t, "")
	first, err := b.NewCode(local(), Viewer)
	if err != nil {
		t.Fatal(err)
	}
	for i := range codeTries {
		_, err := b.Pair(stranger(fmt.Sprintf("192.0.2.%d:1", i)), other(first.Code), "")
		wantError(t, "wrong code", err, 403)
	}
	_, err = b.Pair(stranger("192.0.2.10:1"), first.Code, "")
	wantError(t, "the right one after five wrong ones", err, 403)
	second := b.console.codes[len(b.console.codes)-1]
	if second.Code == first.Code || second.Role != Viewer {
		t.Errorf("code %+v after %+v, want another of the same role", second, first)
	}
	p, err := b.Pair(stranger("192.0.2.11:1"), second.Code, "")
	if err != nil || p.Role != Viewer || p.Device.Name != "unnamed device" {
		t.Errorf("paired %+v %v, want a viewer", p, err)
	}
}

func TestTriesAreLimited(t *testing.T) {
	t.Parallel()
	b := newBoard(t, "")
	for range 5 {
		_, err := b.Pair(stranger("192.0.2.60:1"), "junk", "")
		wantError(t, "not a code", err, 400)
	}
	code, _ := b.NewCode(local(), Operator)
	w := b.ask("POST", "/api/access/pair", from("192.0.2.60:2"), header("X-Forwarded-For", "192.0.2.99"), body(`{"code":"`+code.Code+`"}`))
	wantStatus(t, "sixth try of an address", w, 429)
	// RFC 9110, section 10.2.3: seconds.
	if got := w.Header().Get("Retry-After"); got != "120" {
		t.Errorf("Retry-After %q, want 120", got)
	}
	if _, err := b.Pair(stranger("192.0.2.61:1"), code.Code, ""); err != nil {
		t.Errorf("another address: %v", err)
	}
	// A machine that takes one address after the other: OWASP ASVS 4.0, 2.2.1, no
	// more than 100 wrong tries an hour, after the burst of the first.
	b = newBoard(t, "")
	tried, wrong := 0, 0
	for i := range 7200 {
		b.clock.add(time.Second)
		if i == 3600 {
			wrong = tried
		}
		_, err := b.Pair(stranger(fmt.Sprintf("10.1.%d.%d:1", i/250, i%250)), "00000000", "")
		switch AsError(err).Status {
		case 403:
			tried++
		case 429:
		default:
			t.Fatalf("try %d: %v", i, err)
		}
	}
	if wrong > 100 || tried-wrong > 100 || wrong < 10 {
		t.Errorf("%d and %d tries an hour, want 10 to 100", wrong, tried-wrong)
	}
}

func TestStrangerSendsLittle(t *testing.T) {
	t.Parallel()
	b := newBoard(t, "")
	code, _ := b.NewCode(local(), Operator)
	long := `{"code":"` + code.Code + `","name":"` + strings.Repeat("x", strangerBody) + `"}`
	wantStatus(t, "five kilobytes", b.ask("POST", "/api/access/pair", body(long)), 400)
	wantStatus(t, "a short one", b.ask("POST", "/api/access/pair", body(`{"code":"`+code.Code+`"}`)), 200)
}

func TestTwoPairWithOneCode(t *testing.T) {
	t.Parallel()
	for range 20 {
		b := newBoard(t, fileIn(t))
		code, _ := b.NewCode(local(), Operator)
		var won, lost sync.Map
		var all sync.WaitGroup
		for i := range 4 {
			all.Go(func() {
				p, err := b.Pair(stranger(fmt.Sprintf("192.0.2.%d:1", i)), code.Code, "")
				if err == nil {
					won.Store(p.Device.ID, true)
				} else {
					lost.Store(i, AsError(err).Status)
				}
			})
		}
		all.Wait()
		winners, losers := 0, 0
		won.Range(func(_, _ any) bool { winners++; return true })
		lost.Range(func(_, status any) bool {
			if status == http.StatusForbidden {
				losers++
			}
			return true
		})
		list, err := b.Devices(local())
		if winners != 1 || losers != 3 || len(list) != 1 || err != nil {
			t.Fatalf("%d won, %d lost, devices %+v %v; want one, three and one", winners, losers, list, err)
		}
	}
}

func TestSixtyFourDevices(t *testing.T) {
	t.Parallel()
	b := newBoard(t, "")
	for range maxDevices {
		b.clock.add(2 * time.Minute)
		b.pair(t, Viewer, "screen")
	}
	b.clock.add(2 * time.Minute)
	code, _ := b.NewCode(local(), Viewer)
	_, err := b.Pair(stranger("192.0.2.60:1"), code.Code, "")
	wantError(t, "one device more", err, 409)
}

// Tokens and codes are not alike: 256 bits, and eight digits of which all occur.
func TestRandom(t *testing.T) {
	t.Parallel()
	seen, first := make(map[string]bool), make(map[byte]bool)
	for range 500 {
		token := newToken()
		if _, ok := digestOf(token); !ok || seen[token] {
			t.Fatalf("token %q again, or not one", token)
		}
		seen[token] = true
		p := newPairing(Operator, time.Time{})
		first[p.digits[0]] = true
	}
	if len(first) != 10 {
		t.Errorf("codes begin with %d different digits of ten", len(first))
	}
}

func TestDeviceName(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.OneOf(rapid.String(), rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) })).Draw(t, "name")
		got := deviceName(in)
		if !utf8.ValidString(got) || utf8.RuneCountInString(got) > maxNameRune || got == "" || strings.ContainsAny(got, "\r\n\x00\x1b\u202e\u2028") {
			t.Fatalf("name %q of %q", got, in)
		}
		if again := deviceName(got); again != got {
			t.Fatalf("name %q becomes %q", got, again)
		}
	})
	for in, want := range map[string]string{"tablet in cab": "tablet in cab", "  a\tb ": "a b", "": "unnamed device", "\x00": "unnamed device", "Büro": "Büro", strings.Repeat("x", 1<<20): strings.Repeat("x", 64)} {
		if got := deviceName(in); got != want {
			t.Errorf("name %s: %q, want %q", clip(in), got, want)
		}
	}
}
