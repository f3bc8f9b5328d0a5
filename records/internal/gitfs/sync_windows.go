package gitfs

// SyncDir implements Disk. Windows cannot sync a folder: NTFS journals its names.
func (d Folder) SyncDir(string) error { return nil }
