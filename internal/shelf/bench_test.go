package shelf

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"
)

// BenchmarkFind asks each kind of question of a shelf, and tells the time under which 95
// of 100 answers came, the first fifty tunes and how many there are. SHELF names a shelf
// that is there, with as many tunes as it has.
func BenchmarkFind(b *testing.B) {
	ctx := context.Background()
	at, err := ParsePlace(filepath.Join(b.TempDir(), "shelf"), "", false)
	if err != nil {
		b.Fatal(err)
	}
	var s *Shelf
	if dir := os.Getenv("SHELF"); dir != "" {
		if at, err = ParsePlace(dir, "", false); err == nil {
			s, err = Open(ctx, at, Config{})
		}
	} else if s, err = Create(ctx, at, Config{}); err == nil {
		var sheets []Sheet
		for n := range 500 {
			sheets = append(sheets, sheetOf(n))
		}
		_, err = s.Add(ctx, sheets...)
	}
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	n, err := s.Count(ctx, Query{})
	if err != nil {
		b.Fatal(err)
	}
	for _, text := range []string{"", "river lantern", "mil", "title:silver", "composer:ada", "key:G", "key:G metre:3/4", "kind:jig bars:16", "bars:10-20", "incipit:\"+2 +2 -1\"", "incipit:\"C E G\"",
		"rights:DE", "status:unknown", "alike:yes", "warned:yes", "technique:stride level:5", "rating:20-40", "built:yes", "river key:D composer:bela"} {
		b.Run(fmt.Sprintf("tunes=%d/%s", n, text), func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				q, err := ParseQuery(text)
				if err != nil {
					b.Fatal(err)
				}
				began := time.Now()
				if _, err := s.Count(ctx, q); err != nil {
					b.Fatal(err)
				}
				q.Limit = 50
				if _, err := s.Find(ctx, q); err != nil {
					b.Fatal(err)
				}
				took = append(took, time.Since(began))
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "ms-p95")
		})
	}
}

// BenchmarkAdd puts tunes on an empty shelf, two hundred in a transaction.
func BenchmarkAdd(b *testing.B) {
	ctx := context.Background()
	at, err := ParsePlace(filepath.Join(b.TempDir(), "shelf"), "", false)
	if err != nil {
		b.Fatal(err)
	}
	s, err := Create(ctx, at, Config{})
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	n := 0
	for b.Loop() {
		var sheets []Sheet
		for range 200 {
			sheets = append(sheets, sheetOf(n))
			n++
		}
		if _, err := s.Add(ctx, sheets...); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "tunes/s")
}
