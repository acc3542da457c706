package gradatim

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"gradatim/internal/press"
	"gradatim/internal/sharedtest"
)

// pressed is a shelf with shared sheets, and its press. PRESS_SHEETS says how many sheets.
func pressed(b *testing.B, product Product) (*Shelf, *Press, PressPlan) {
	b.Helper()
	n, err := strconv.Atoi(os.Getenv("PRESS_SHEETS"))
	if err != nil {
		n = 6
	}
	ctx := context.Background()
	at, err := ParseShelfPlace(filepath.Join(b.TempDir(), "shelf"), "", false)
	if err != nil {
		b.Fatal(err)
	}
	s, err := CreateShelf(ctx, at, ShelfConfig{Author: "Ada"})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	sheets := sharedtest.Sheets(b)
	if _, err := s.Take(ctx, sheets[:min(n, len(sheets))], TakeOptions{}); err != nil {
		b.Fatal(err)
	}
	p, err := s.Press(ctx)
	if err != nil {
		b.Fatal(err)
	}
	plan, err := p.Plan(ctx, "", PressOrder{Product: product})
	if err != nil {
		b.Fatal(err)
	}
	return s, p, plan
}

// BenchmarkPress makes scores, and pages, of sheets: with the queue, and without it as many at once
// and recorded the same way. It tells the processor time a tune in both, and what part of it the
// queue takes.
func BenchmarkPress(b *testing.B) {
	for _, product := range []Product{Scores, Pages} {
		b.Run("make="+string(product), func(b *testing.B) {
			ctx := context.Background()
			var queue, alone, clock, aloneClock time.Duration
			tunes := 0
			s, _, plan := pressed(b, product)
			unqueued(b, s, plan) // what is read once is read
			for b.Loop() {
				_, p, plan := pressed(b, product)
				tunes += len(plan.Parts)
				began, cpu := time.Now(), sharedtest.Spent()
				run, err := p.Start(ctx, plan)
				if err != nil {
					b.Fatal(err)
				}
				if err := p.Work(ctx, PressConfig{}, nil, p.Over(run)); err != nil {
					b.Fatal(err)
				}
				queue, clock = queue+sharedtest.Spent()-cpu, clock+time.Since(began)

				s, _, plan := pressed(b, product)
				began, cpu = time.Now(), sharedtest.Spent()
				unqueued(b, s, plan)
				alone, aloneClock = alone+sharedtest.Spent()-cpu, aloneClock+time.Since(began)
			}
			b.ReportMetric(float64(queue.Milliseconds())/float64(tunes), "ms-cpu/tune")
			b.ReportMetric(float64(alone.Milliseconds())/float64(tunes), "ms-cpu-unqueued/tune")
			b.ReportMetric(100*(float64(queue)/float64(alone)-1), "%-queue-cpu")
			b.ReportMetric(100*(float64(clock)/float64(aloneClock)-1), "%-queue-clock")
			b.ReportMetric(float64(tunes)/clock.Seconds(), "tunes/s")
		})
	}
}

// unqueued makes and records the parts of a plan, as many at once as a worker does.
func unqueued(b *testing.B, s *Shelf, plan PressPlan) {
	ctx := context.Background()
	studio := new(Studio)
	defer studio.Close()
	m := &maker{shelf: s, studio: studio, program: program()}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(plan.Parts) {
					return
				}
				made, err := m.make(ctx, press.Task{Run: plan.Run, Part: plan.Parts[i], Progress: func(float64) {}, Steps: func([]press.Step) {}})
				if err == nil {
					_, err = s.Shelf.Record(ctx, made.Build, "")
				}
				if err != nil {
					b.Error(fmt.Errorf("%s: %w", plan.Parts[i].Title, err))
				}
			}
		})
	}
	wg.Wait()
}
