package extract

import (
	"bufio"
	"fmt"
	"os"
	"strings"
	"sync"
	"time"

	"quoin/vector/scratch"
)

// A keeper holds a run whose block is on disk to its memory: it lets go of what
// is seen of the arrays there when that is much. The nil keeper does nothing.
type keeper struct {
	most   int64 // bytes of them that may be in memory
	mu     sync.Mutex
	stores []*scratch.Store
	last   time.Time
}

// mappedShare is the share of the memory allowed, as 1 in so many, that a block
// on disk may be seen through.
const mappedShare = 4

// keeperPause is how long the keeper waits from one look to the next.
const keeperPause = 20 * time.Millisecond

// watch has the keeper look after one more store.
func (k *keeper) watch(s *scratch.Store) {
	if k == nil {
		return
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	k.stores = append(k.stores, s)
}

// relieve lets go of arrays where much of them is in memory, and returns what
// befell the stores.
func (k *keeper) relieve() error {
	if k == nil {
		return nil
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, s := range k.stores {
		if err := s.Err(); err != nil {
			return err
		}
	}
	if now := time.Now(); now.Sub(k.last) >= keeperPause {
		k.last = now
		if mappedMemory() > k.most {
			for _, s := range k.stores {
				s.Trim()
			}
		}
	}
	return nil
}

// mappedMemory returns how much the process sees of files, in bytes; 0 where
// the system does not tell.
func mappedMemory() int64 {
	data, err := os.ReadFile("/proc/self/statm")
	if err != nil {
		return 0
	}
	var size, resident, shared int64
	if _, err := fmt.Sscan(string(data), &size, &resident, &shared); err != nil {
		return 0
	}
	return shared * int64(os.Getpagesize())
}

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
