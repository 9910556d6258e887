package main

import (
	"fmt"
	"log/slog"
	"os"
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"quoin/extract"
)

// newProgress returns a bar on standard error where that is a terminal, else
// one that shows nothing.
func newProgress() extract.Progress {
	if !term.IsTerminal(int(os.Stderr.Fd())) {
		return extract.Silent{}
	}
	return &bar{}
}

// A bar shows one stage at a time.
type bar struct {
	mu  sync.Mutex
	bar *progressbar.ProgressBar
}

func (b *bar) Start(stage string, steps int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if steps <= 0 {
		steps = -1
	}
	b.bar = progressbar.NewOptions64(steps,
		progressbar.OptionSetWriter(os.Stderr),
		progressbar.OptionSetDescription(fmt.Sprintf("%-10s", stage)),
		progressbar.OptionSetWidth(32),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionClearOnFinish())
}

func (b *bar) Add(steps int64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.bar != nil {
		_ = b.bar.Add64(steps) // a bar that can't be drawn is no reason to stop
	}
}

func (b *bar) Done() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.bar != nil {
		_ = b.bar.Finish()
		b.bar = nil
	}
}

// newLog returns the log: text on standard error, without times, which only
// make what people see longer.
func newLog(quiet, verbose bool) *slog.Logger {
	level := slog.LevelInfo
	switch {
	case verbose:
		level = slog.LevelDebug
	case quiet:
		level = slog.LevelWarn
	}
	return slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{
		Level: level,
		ReplaceAttr: func(_ []string, a slog.Attr) slog.Attr {
			if a.Key == slog.TimeKey {
				return slog.Attr{}
			}
			return a
		},
	}))
}
