package engrave

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"gradatim/internal/musicxml"
	"gradatim/internal/notate"
	"gradatim/internal/sharedtest"
)

func median(d []time.Duration) time.Duration {
	slices.Sort(d)
	return d[len(d)/2]
}

// BenchmarkAgainstNode engraves one score with the library as it runs here and
// as Node runs the same package, in turns, and reports the ratio of the
// medians (below 1: faster than Node) and of the best.
func BenchmarkAgainstNode(b *testing.B) {
	g := engraver(b)
	node := sharedtest.Tool(b, "node")
	pkg := filepath.Join(sharedtest.Root(), "node_modules", "verovio", "dist")
	if _, err := os.Stat(pkg); err != nil {
		b.Skip("no node_modules: run npm ci --ignore-scripts")
	}
	for _, bars := range []int{32, 128} {
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			l, err := Layout{}.plain()
			if err != nil {
				b.Fatal(err)
			}
			root, _, err := readTree(context.Background(), []byte(study(bars)))
			if err != nil {
				b.Fatal(err)
			}
			p := prepare(context.Background(), root, l)
			o := options(l, 180)
			var starts []int
			for i := 0; i < bars; i += 4 {
				starts = append(starts, i)
			}
			score := p.encode(starts)
			dir := b.TempDir()
			script := `import createModule from '` + pkg + `/verovio-module.mjs';
import { VerovioToolkit } from '` + pkg + `/verovio.mjs';
import fs from 'node:fs';
const kit = new VerovioToolkit(await createModule());
const [options, score] = ['options', 'score'].map(f => fs.readFileSync('` + dir + `/' + f, 'utf8'));
const times = [];
for (let i = 0; i < 15; i++) {
  const t = performance.now();
  kit.resetOptions(); kit.setOptions(JSON.parse(options)); kit.resetXmlIdSeed(1); kit.loadData(score);
  for (let p = 1; p <= kit.getPageCount(); p++) kit.renderToSVG(p);
  times.push(performance.now() - t);
}
times.sort((a, b) => a - b);
console.log(times[7], times[0]);`
			for name, s := range map[string]string{"options": o.json(), "score": score, "run.mjs": script} {
				if err := os.WriteFile(filepath.Join(dir, name), []byte(s), 0o644); err != nil {
					b.Fatal(err)
				}
			}
			var ours, theirs []time.Duration
			best := time.Hour // of Node
			for b.Loop() {
				for range 15 {
					start := time.Now()
					if _, _, err := g.draw(context.Background(), o.json(), score); err != nil {
						b.Fatal(err)
					}
					ours = append(ours, time.Since(start))
				}
				out, err := exec.Command(node, filepath.Join(dir, "run.mjs")).Output()
				if err != nil {
					b.Fatal(err)
				}
				var mid, low float64
				if _, err := fmt.Sscan(string(out), &mid, &low); err != nil {
					b.Fatal(err)
				}
				theirs = append(theirs, time.Duration(mid*1e6))
				best = min(best, time.Duration(low*1e6))
			}
			b.ReportMetric(float64(median(ours))/1e6, "ours-ms")
			b.ReportMetric(float64(median(theirs))/1e6, "node-ms")
			b.ReportMetric(float64(median(ours))/float64(median(theirs)), "ratio")
			// The best of each tells more on a busy machine.
			b.ReportMetric(float64(slices.Min(ours))/float64(best), "best-ratio")
		})
	}
}

// BenchmarkAgainstLilypond makes a PDF file of one score here and by
// musicxml2ly and lilypond, and reports how many times longer they take.
func BenchmarkAgainstLilypond(b *testing.B) {
	g := engraver(b)
	convert, lily := sharedtest.Tool(b, "musicxml2ly"), sharedtest.Tool(b, "lilypond")
	b.Run("bars=32", func(b *testing.B) {
		dir := b.TempDir()
		score := []byte(study(32))
		if err := os.WriteFile(filepath.Join(dir, "s.musicxml"), score, 0o644); err != nil {
			b.Fatal(err)
		}
		var ours, theirs time.Duration
		for b.Loop() {
			g.forget()
			start := time.Now()
			d, err := g.Pages(context.Background(), score, Layout{})
			if err != nil {
				b.Fatal(err)
			}
			if _, err := d.PDF(context.Background()); err != nil {
				b.Fatal(err)
			}
			ours += time.Since(start)
			start = time.Now()
			for _, c := range []*exec.Cmd{exec.Command(convert, "-o", "s.ly", "s.musicxml"), exec.Command(lily, "-s", "--pdf", "s.ly")} {
				c.Dir = dir
				if out, err := c.CombinedOutput(); err != nil {
					b.Fatalf("%v\n%s", err, out)
				}
			}
			theirs += time.Since(start)
		}
		b.ReportMetric(float64(theirs)/float64(ours), "times-slower")
	})
}

// BenchmarkLadder makes PDF files of five scores, two at a time, as a ladder
// needs.
func BenchmarkLadder(b *testing.B) {
	g := engraver(b)
	files, err := filepath.Glob("testdata/*.musicxml")
	if err != nil || len(files) != 5 {
		b.Fatal(files, err)
	}
	b.Run("levels=5/at-once=2", func(b *testing.B) {
		for b.Loop() {
			g.forget()
			work := make(chan string)
			var wg sync.WaitGroup
			for range 2 {
				wg.Go(func() {
					for f := range work {
						d, err := g.Pages(context.Background(), []byte(readFile(b, f)), Layout{})
						if err == nil {
							_, err = d.PDF(context.Background())
						}
						if err != nil {
							b.Error(err)
						}
					}
				})
			}
			for _, f := range files {
				work <- f
			}
			close(work)
			wg.Wait()
		}
	})
}

func BenchmarkPages(b *testing.B) {
	g := engraver(b)
	for _, bars := range []int{32, 128, 512} {
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			s := []byte(study(bars))
			b.ReportAllocs()
			for b.Loop() {
				g.forget()
				if _, err := g.Pages(context.Background(), s, Layout{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkPDF(b *testing.B) {
	for _, bars := range []int{32, 128} {
		d := pages(b, study(bars), Layout{})
		b.Run(fmt.Sprintf("bars=%d", bars), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := d.PDF(context.Background()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSVG(b *testing.B) {
	d := pages(b, study(32), Layout{})
	b.Run("bars=32/pages=1", func(b *testing.B) {
		for b.Loop() {
			d.SVG(0)
		}
	})
}

func BenchmarkPNG(b *testing.B) {
	d := pages(b, study(32), Layout{})
	for _, dpi := range []float64{96, 300} {
		b.Run(fmt.Sprintf("bars=32/dpi=%g", dpi), func(b *testing.B) {
			for b.Loop() {
				if _, err := d.PNG(0, dpi); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// A few bars of a page of 32 are engraved from the score: cut out, written and
// drawn, as picture of one system. Each time other bars, so that nothing is
// remembered but the engraver's own start.
func BenchmarkPart(b *testing.B) {
	g := engraver(b)
	whole, _, err := musicxml.ReadScore([]byte(readFile(b, "testdata/original-t2.3.musicxml")), musicxml.Options{})
	if err != nil || len(whole.Bars) != 32 {
		b.Fatal(len(whole.Bars), err)
	}
	for _, bars := range []int{1, 4, 8} {
		b.Run(fmt.Sprintf("bars=%d of 32", bars), func(b *testing.B) {
			first := 0
			start := sharedtest.Spent()
			defer func() {
				b.ReportMetric(float64((sharedtest.Spent()-start).Microseconds())/1000/float64(b.N), "cpu-ms/op")
			}()
			for b.Loop() {
				g.forget()
				settled, _ := notate.Settled(whole)
				xml, err := musicxml.Write(settled.Excerpt(first, first+bars-1))
				if err != nil {
					b.Fatal(err)
				}
				d, err := g.Part(context.Background(), xml, Layout{})
				if err != nil {
					b.Fatal(err)
				}
				d.SVG(0)
				first = (first + bars) % (len(whole.Bars) - bars)
			}
		})
	}
}
