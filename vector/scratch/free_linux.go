package scratch

import "golang.org/x/sys/unix"

// Free returns how many bytes a folder's disk has room for; false where the
// system does not tell.
func (s *Store) Free() (bytes int64, known bool) {
	var disk unix.Statfs_t
	if err := unix.Statfs(s.folder, &disk); err != nil {
		return 0, false
	}
	return int64(disk.Bavail) * int64(disk.Bsize), true
}
