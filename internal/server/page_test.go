package server

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Every colour of text stands out from both grounds by day and by night: 7 to 1,
// success criterion 1.4.6 of WCAG 2.2, https://www.w3.org/TR/WCAG22/#contrast-enhanced,
// with relative luminance as defined there.
func TestContrast(t *testing.T) {
	t.Parallel()
	css := ask(serverOf(t, Config{}), "GET", "/page.css", "").Body.String()
	day, night, ok := strings.Cut(css, "prefers-color-scheme: dark")
	if !ok {
		t.Fatal("page.css knows no night")
	}
	night, _, _ = strings.Cut(night, "box-sizing")
	for name, text := range map[string]string{"day": day, "night": night} {
		colours := map[string]string{}
		for _, m := range regexp.MustCompile(`--([a-z]+): (#[0-9a-f]{6});`).FindAllStringSubmatch(text, -1) {
			colours[m[1]] = m[2]
		}
		for _, ground := range []string{"ground", "card"} {
			for _, ink := range []string{"ink", "soft", "note", "warning", "critical"} {
				if c := contrast(t, colours[ink], colours[ground]); c < 7 {
					t.Errorf("%s: %s %s on %s %s: contrast %.2f, want 7", name, ink, colours[ink], ground, colours[ground], c)
				}
			}
		}
	}
	if c := contrast(t, "#000000", "#ffffff"); math.Abs(c-21) > 1e-9 {
		t.Errorf("black on white: got %v, want 21", c)
	}
}

func contrast(t *testing.T, a, b string) float64 {
	t.Helper()
	la, lb := luminance(t, a), luminance(t, b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	n, err := strconv.ParseUint(strings.TrimPrefix(colour, "#"), 16, 24)
	if err != nil {
		t.Fatalf("colour %q: %v", colour, err)
	}
	linear := func(shift uint) float64 {
		c := float64(n>>shift&0xff) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(16) + 0.7152*linear(8) + 0.0722*linear(0)
}
