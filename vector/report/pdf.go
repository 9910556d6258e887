package report

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"quoin/vector/atomicfile"
)

// ErrNoBrowser says that there is no program here that prints pages.
var ErrNoBrowser = errors.New("no Chromium was found to print the report with: install one, or open report.html in a browser and print it from there")

// printTime is the longest that printing may take: 2,000 buildings take some
// ten seconds.
const printTime = 3 * time.Minute

// Browser returns the path of a Chromium that runs without a window, or
// ErrNoBrowser.
func Browser() (string, error) {
	for _, name := range []string{"chromium", "chromium-browser", "headless_shell", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path, nil
		}
	}
	return "", ErrNoBrowser
}

// PDF prints a page that Write made to a file, whole or not at all. The file
// holds the time of printing, so that its bytes are not the same each time.
func PDF(ctx context.Context, page, path string) error {
	if err := printPage(ctx, page, path); err != nil {
		return fmt.Errorf("report: print: %w", err)
	}
	return nil
}

func printPage(ctx context.Context, page, path string) error {
	browser, err := Browser()
	if err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "quoin-print-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	if page, err = filepath.Abs(page); err != nil {
		return err
	}
	ctx, stop := context.WithTimeout(ctx, printTime)
	defer stop()
	printed := filepath.Join(folder, "report.pdf")
	arguments := []string{
		"--headless", "--disable-gpu", "--disable-background-networking", "--disable-extensions", "--no-first-run",
		"--user-data-dir=" + filepath.Join(folder, "profile"), "--no-pdf-header-footer", "--print-to-pdf=" + printed,
	}
	if os.Geteuid() == 0 {
		arguments = append(arguments, "--no-sandbox") // it does not start as root otherwise
	}
	command := exec.CommandContext(ctx, browser, append(arguments, (&url.URL{Scheme: "file", Path: page}).String())...)
	command.WaitDelay = time.Second
	var messages bytes.Buffer
	command.Stdout, command.Stderr = &messages, &messages
	if err := command.Run(); err != nil {
		if ctx.Err() != nil {
			return fmt.Errorf("%s: %w", browser, ctx.Err())
		}
		return fmt.Errorf("%s: %w: %s", browser, err, lastLine(messages.Bytes()))
	}
	in, err := os.Open(printed)
	if err != nil {
		return fmt.Errorf("%s left no file: %s", browser, lastLine(messages.Bytes()))
	}
	defer in.Close()
	return atomicfile.Write(path, func(w io.Writer) error {
		_, err := io.Copy(w, in)
		return err
	})
}

// lastLine returns the last line of what a program said, where its reason
// usually is.
func lastLine(text []byte) []byte {
	text = bytes.TrimSpace(text)
	return text[bytes.LastIndexByte(text, '\n')+1:]
}
