package shelf

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"gradatim/internal/incipit"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
)

// What invented tunes are called and made of, the frequent first.
var (
	inventedWords = strings.Fields("river lantern silver morning willow harbour winter meadow copper sparrow candle mountain orchard thunder velvet amber " +
		"shepherd garden miller window ribbon marble feather island cradle saddle pepper barley cinder anchor")
	inventedKeys   = strings.Fields("G-major D-major C-major F-major A-major A-minor D-minor E-minor Bb-major G-minor Eb-major C-minor E-major B-minor D-dorian Ab-major")
	inventedMetres = strings.Fields("4/4 3/4 6/8 2/4 2/2 9/8 12/8 3/2 6/4 5/4")
	inventedKinds  = strings.Fields("hymn jig waltz swing ballad march reel lullaby rag bossa")
	inventedLands  = []string{World, "DE", "FR", "US"}
	inventedSkills = strings.Fields("stride walking-bass broken-triads block-chords octaves pedal fills enclosure shell-voicings tenths guide-tones suspension")
)

// often picks from a list so that the first come most often.
func often(r *rand.Rand, list []string) string {
	return list[min(r.IntN(len(list)), r.IntN(len(list)))]
}

// invented is tune n of a large shelf: titles of two and three words, five hundred makers,
// keys, metres and kinds as unequal as they are in books; 500 tunes to a book.
func invented(n int) Sheet {
	r := rand.New(rand.NewPCG(uint64(n), 1))
	var title []string
	for range 2 + r.IntN(2) {
		title = append(title, often(r, inventedWords))
	}
	data := fmt.Appendf(nil, "X:%d\nT:%s\nK:C\n", n, strings.Join(title, " "))
	ivs := make([]int, 40)
	for i := range ivs {
		ivs[i] = r.IntN(10) - 5
	}
	melody := incipit.Text(ivs)
	maker := fmt.Sprintf("%s %s", []string{"Ada", "Bela", "Cora", "Dario", "Edda"}[r.IntN(5)], "Q"+strconv.Itoa(r.IntN(100)))
	sh := Sheet{Name: fmt.Sprintf("tune-%d.abc", n), Data: append(data, make([]byte, 300)...), Number: n%500 + 1,
		Source: Source{Name: fmt.Sprintf("book-%d.abc", n/500), Data: fmt.Appendf(nil, "book %d", n/500)},
		Facts: Facts{Title: strings.Join(title, " "), Composer: maker, Rhythm: often(r, inventedKinds), Key: strings.Replace(often(r, inventedKeys), "-", " ", 1), Metre: often(r, inventedMetres),
			Feel: "straight", Kind: often(r, inventedKinds), Form: "AABA", Bars: 8 * (1 + r.IntN(8)), Notes: 41, Chords: 16, Seconds: 15 * (1 + r.IntN(12)), Incipit: incipit.Again(melody, incipit.Text(ivs[2:]), melody)}}
	if r.IntN(20) == 0 {
		sh.Facts.Problems = []byte(`[{"code":"abc-tune"}]`)
	}
	if r.IntN(3) == 0 {
		sh.Facts.Published = []Right{{Territory: inventedLands[r.IntN(4)], Status: leadsheet.PublicDomain, Basis: "printed in 1890"}}
	}
	return sh
}

// furnished puts tunes on a shelf, and a build with five pages for each tenth.
func furnished(b testing.TB, s *Shelf, tunes int) {
	ctx := context.Background()
	for from := 0; from < tunes; from += 500 {
		var sheets []Sheet
		for n := from; n < min(from+500, tunes); n++ {
			sheets = append(sheets, invented(n))
		}
		as, err := s.Add(ctx, sheets...)
		if err != nil {
			b.Fatal(err)
		}
		err = s.within(ctx, func(t *tx) error {
			for i := 0; i < len(as); i += 10 {
				r := rand.New(rand.NewPCG(uint64(from+i), 2))
				x := Build{ID: "build of " + as[i].Tune, Tune: as[i].Tune, What: "scores"}
				for l := 1; l <= 5; l++ {
					p := Page{Level: l, Rating: 180*l - 100 + r.IntN(200)}
					for _, k := range r.Perm(len(inventedSkills))[:6] {
						p.Techniques = append(p.Techniques, Technique{inventedSkills[k], []int{1, 2, 3}})
					}
					x.Pages = append(x.Pages, p)
				}
				if _, err := t.record(ctx, &x, ""); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
}

// questions are the kinds of question that a shelf is asked, each with other values every
// time; $word, $key and the like are taken from what the tunes are made of.
var questions = []string{
	"", "$word", "$word $word", "mil", "title:$word", `title:"$word $word"`, "composer:$maker", "key:$tonic", `key:"$key"`, "metre:$metre", "kind:$kind", "rhythm:$kind",
	"bars:16", "bars:10-20", "seconds:60-90", `incipit:"$steps"`, `incipit:"C E G"`, "rights:DE", "rights:$land", "status:unknown", "alike:yes", "alike:no", "warned:yes", "warned:no",
	"technique:$skill", "technique:$skill level:$level", "technique:$skill level:$level rating:$rating", "level:$level", "rating:$rating", "level:$level rating:$rating", "built:yes", "built:no",
	"key:$tonic metre:$metre", "kind:$kind bars:16", "metre:$metre bars:16-32 key:$tonic kind:$kind", "$word key:$tonic", "$word key:D composer:bela", "kind:$kind rights:DE", "kind:$kind technique:$skill level:$level",
	"metre:$metre seconds:60-120", "composer:$maker key:$tonic", "title:$word metre:$metre", "rights:DE status:unknown kind:$kind",
}

// asked writes a question with values.
func asked(question string, r *rand.Rand) string {
	for _, of := range []struct {
		name string
		list []string
	}{{"$word", inventedWords}, {"$key", inventedKeys}, {"$metre", inventedMetres}, {"$kind", inventedKinds}, {"$skill", inventedSkills}, {"$land", inventedLands[1:]}} {
		for strings.Contains(question, of.name) {
			value := often(r, of.list)
			if of.name == "$key" {
				value = strings.Replace(value, "-", " ", 1)
			}
			question = strings.Replace(question, of.name, value, 1)
		}
	}
	return strings.NewReplacer("$tonic", strings.Split(often(r, inventedKeys), "-")[0], "$maker", []string{"ada", "bela", "cora", "dario"}[r.IntN(4)]+strings.Repeat("-q"+strconv.Itoa(r.IntN(100)), r.IntN(2)),
		"$level", strconv.Itoa(1+r.IntN(5)), "$rating", func() string { n := r.IntN(80); return fmt.Sprintf("%d-%d", n, n+20) }(),
		"$steps", fmt.Sprintf("%+d %+d %+d", 1+r.IntN(4), 1+r.IntN(4), -1-r.IntN(4))).Replace(question)
}

// large opens the shelf that SHELF names, which is made with SHELF_TUNES tunes where there is
// none; without SHELF one of a thousand is made for the benchmark, on the engine.
func large(b testing.TB, engine string) *Shelf {
	tunes, err := strconv.Atoi(os.Getenv("SHELF_TUNES"))
	if err != nil {
		tunes = 1000
	}
	place, files := os.Getenv("SHELF"), ""
	switch {
	case place != "" && strings.Contains(place, "://") != (engine == "postgres"):
		b.Skip("SHELF is of the other engine")
	case place == "" && engine == "postgres":
		place, files = sharedtest.Postgres(b), b.TempDir()
	case place == "":
		place = filepath.Join(b.TempDir(), "shelf")
	case engine == "postgres":
		files = os.Getenv("SHELF_FILES")
	}
	at, err := ParsePlace(place, files, true)
	if err != nil {
		b.Fatal(err)
	}
	ctx := context.Background()
	s, err := Open(ctx, at, Config{})
	if code(err) == "shelf-missing" {
		if s, err = Create(ctx, at, Config{}); err == nil {
			furnished(b, s, tunes)
		}
	}
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	return s
}

// BenchmarkFind asks each kind of question, and tells the time under which half and 95 of
// 100 answers came: of the first fifty tunes, of a page far down, and of how many there are.
func BenchmarkFind(b *testing.B) {
	for _, engine := range []string{"embedded", "postgres"} {
		b.Run(engine, func(b *testing.B) {
			ctx := context.Background()
			s := large(b, engine)
			n, err := s.Count(ctx, Query{})
			if err != nil {
				b.Fatal(err)
			}
			for _, question := range questions {
				b.Run(fmt.Sprintf("tunes=%d/%s", n, question), func(b *testing.B) {
					r := rand.New(rand.NewPCG(3, 4))
					var first, far, count []time.Duration
					for b.Loop() {
						q, err := ParseQuery(asked(question, r))
						if err != nil {
							b.Fatal(err)
						}
						q.Limit = 50
						first = append(first, took(b, func() error { _, err := s.Find(ctx, q); return err }))
						var n int
						count = append(count, took(b, func() error { n, err = s.Count(ctx, q); return err }))
						q.Offset, q.Of = max(0, n-50), n
						far = append(far, took(b, func() error { _, err := s.Find(ctx, q); return err }))
					}
					b.ReportMetric(0, "ns/op")
					for name, took := range map[string][]time.Duration{"first": first, "count": count, "last": far} {
						slices.Sort(took)
						b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-"+name+"-p50")
						b.ReportMetric(float64(took[len(took)*95/100].Microseconds())/1000, "ms-"+name+"-p95")
					}
				})
			}
		})
	}
}

func took(b *testing.B, f func() error) time.Duration {
	began := time.Now()
	if err := f(); err != nil {
		b.Fatal(err)
	}
	return time.Since(began)
}

// BenchmarkAdd puts tunes on an empty shelf, two hundred in a transaction.
func BenchmarkAdd(b *testing.B) {
	for _, engine := range []string{"embedded", "postgres"} {
		b.Run(engine+"/tunes=200", func(b *testing.B) {
			s := large(b, engine)
			there, err := s.Count(context.Background(), Query{})
			if err != nil {
				b.Fatal(err)
			}
			n := 1<<20 + there // beyond those that are there
			first := n
			for b.Loop() {
				var sheets []Sheet
				for range 200 {
					sheets = append(sheets, invented(n))
					n++
				}
				if _, err := s.Add(context.Background(), sheets...); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n-first)/b.Elapsed().Seconds(), "tunes/s")
		})
	}
}
