package extract

import (
	"bufio"
	"fmt"
	"os"
	"strings"
)

// fallbackMemory is taken for the machine's memory where it can't be read.
const fallbackMemory = 8 << 30

// halfOfMemory returns half the machine's memory in bytes.
func halfOfMemory() int64 { return statField("/proc/meminfo", "MemTotal:", fallbackMemory) / 2 }

// peakMemory returns the largest memory the process has used, in bytes; 0
// where the system does not tell.
func peakMemory() int64 { return statField("/proc/self/status", "VmHWM:", 0) }

// statField reads a field given in kB from one of the kernel's text files.
func statField(path, name string, otherwise int64) int64 {
	file, err := os.Open(path)
	if err != nil {
		return otherwise
	}
	defer file.Close()
	lines := bufio.NewScanner(file)
	for lines.Scan() {
		if rest, ok := strings.CutPrefix(lines.Text(), name); ok {
			var kilobytes int64
			if _, err := fmt.Sscan(rest, &kilobytes); err == nil {
				return kilobytes << 10
			}
		}
	}
	return otherwise
}
