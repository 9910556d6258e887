package extract

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"strings"
	"sync"
	"time"

	"quoin/vector/scratch"
)

// diskPerPoint is the number of bytes on disk that a block which is kept there
// needs for each point.
const diskPerPoint = 90

// checkDisk refuses a block that will not fit on the disk, before hours are
// spent on it.
func (j *job) checkDisk(points uint64) error {
	if points > math.MaxInt32 {
		return nil // refused for that
	}
	need := int64(points * diskPerPoint)
	if free, known := j.store.Free(); known && free < need {
		return fmt.Errorf("%d points need about %.1f GiB on disk while they are worked on, %s has room for %.1f: free some, put --out on another disk, or raise --memory",
			points, float64(need)/(1<<30), j.out.folder, float64(free)/(1<<30))
	}
	return nil
}

// A keeper holds a run whose block is on disk to its memory: every now and then
// it lets go of what is seen of the arrays there when that is much. The nil
// keeper does nothing.
type keeper struct {
	most  int64 // bytes of them that may be in memory
	store *scratch.Store
	stop  chan struct{}
	done  sync.WaitGroup
}

// mappedShare is the share of the memory allowed, as 1 in so many, that a block
// on disk may be seen through.
const mappedShare = 4

// keeperPause is how long the keeper waits from one look to the next: arrays are
// seen at a gigabyte or two a second at most.
const keeperPause = 20 * time.Millisecond

// keep starts a keeper.
func keep(s *scratch.Store, memory int64) *keeper {
	k := &keeper{most: memory / mappedShare, store: s, stop: make(chan struct{})}
	k.done.Go(func() {
		for pause := time.NewTicker(keeperPause); ; {
			select {
			case <-k.stop:
				pause.Stop()
				return
			case <-pause.C:
				if mappedMemory() > k.most {
					k.store.Trim()
				}
			}
		}
	})
	return k
}

// end stops the keeper.
func (k *keeper) end() {
	if k != nil {
		close(k.stop)
		k.done.Wait()
	}
}

// err returns what befell the arrays.
func (k *keeper) err() error {
	if k == nil {
		return nil
	}
	return k.store.Err()
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
