package tabular

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// mode is that of a new file, before the umask.
const mode = 0o644

// Write calls write with a writer, and puts what it wrote in place of the file at
// path. If write or anything else fails, the file stays as it was.
func Write(path string, write func(io.Writer) error) error {
	f, err := Create(path)
	if err != nil {
		return err
	}
	if err := write(f); err != nil {
		return errors.Join(err, f.Abandon())
	}
	return f.Commit()
}

// WriteFile writes bytes to a new file, or over the old one, whole or not at all.
func WriteFile(path string, content []byte) error {
	return Write(path, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}

// WriteNew is Write of a file that must not be there yet: where there is something at
// path, now or once all is written, it stays as it is and the error is an fs.ErrExist.
func WriteNew(path string, write func(io.Writer) error) error {
	f := &File{path: path, target: path, fresh: true}
	switch _, err := os.Lstat(path); {
	case err == nil:
		return f.cannot(fs.ErrExist)
	case !errors.Is(err, fs.ErrNotExist):
		return f.cannot(err)
	}
	if err := f.make(mode); err != nil {
		return err
	}
	f.buffer = bufio.NewWriterSize(f.file, 1<<16)
	if err := write(f); err != nil {
		return errors.Join(err, f.Abandon())
	}
	return f.Commit()
}

// A File is an output on its way. It is written beside its place under another
// name, and moved there by Commit. Write, Commit and Abandon are not for use by
// several goroutines at once.
type File struct {
	path   string // as the user wrote it, for messages
	target string // where it goes, behind symbolic links
	temp   string // "" where path is a device or a pipe, which is written to directly
	file   *os.File
	buffer *bufio.Writer
	failed error
	done   bool
	fresh  bool // nothing may be at target
}

// Create begins an output at path. A directory is refused, and so is a place where
// no file can be made. A device or a pipe (/dev/null, a shell's process
// substitution) cannot be replaced, and is written to as it is. A new file has mode
// 0644 less the umask; one that replaces another has the other's.
func Create(path string) (*File, error) {
	target := path
	if real, err := filepath.EvalSymlinks(path); err == nil {
		target = real
	}
	f := &File{path: path, target: target}
	perm := fs.FileMode(mode)
	info, err := os.Stat(target)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := f.make(perm); err != nil {
			return nil, err
		}
	case err != nil:
		return nil, f.cannot(err)
	case info.IsDir():
		return nil, fmt.Errorf("%s is a folder; name a file", path)
	case !info.Mode().IsRegular():
		if f.file, err = os.OpenFile(target, os.O_WRONLY, 0); err != nil {
			return nil, f.cannot(err)
		}
	default:
		perm = info.Mode().Perm()
		if err := f.make(perm); err != nil {
			return nil, err
		}
		if err := f.file.Chmod(perm); err != nil { // the umask took something off
			return nil, errors.Join(f.cannot(err), f.Abandon())
		}
	}
	f.buffer = bufio.NewWriterSize(f.file, 1<<16)
	return f, nil
}

// make opens the temporary file.
func (f *File) make(perm fs.FileMode) error {
	dir, base := filepath.Split(f.target)
	for n := 0; ; n++ {
		temp := filepath.Join(dir, fmt.Sprintf(".%s.%d-%d.part", base, os.Getpid(), n))
		file, err := os.OpenFile(temp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, perm)
		if errors.Is(err, fs.ErrExist) && n < 1000 {
			continue
		}
		if errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("cannot write %s: there is no folder %s; create it first", f.path, filepath.Dir(f.target))
		}
		if err != nil {
			return f.cannot(err)
		}
		f.file, f.temp = file, temp
		return nil
	}
}

// cannot words an error with the name that the user wrote, not the temporary one.
func (f *File) cannot(err error) error {
	var of *fs.PathError
	if errors.As(err, &of) {
		err = of.Err
	}
	return fmt.Errorf("cannot write %s: %w", f.path, err)
}

// Write adds to the output. After an error every further Write and Commit returns
// that error.
func (f *File) Write(p []byte) (int, error) {
	switch {
	case f.done:
		return 0, f.cannot(fs.ErrClosed)
	case f.failed != nil:
		return 0, f.failed
	}
	n, err := f.buffer.Write(p)
	if err != nil {
		f.failed = f.cannot(err)
	}
	return n, f.failed
}

// Commit makes sure that the output is on the disk and puts it in its place. If
// that fails, nothing of it is left and the place is as it was.
func (f *File) Commit() error {
	if f.done {
		return f.cannot(fs.ErrClosed)
	}
	if err := f.settle(); err != nil {
		return errors.Join(err, f.Abandon())
	}
	f.done = true
	if f.temp == "" {
		return nil
	}
	if err := f.place(); err != nil {
		return errors.Join(f.cannot(err), f.remove())
	}
	return nil
}

// place puts the temporary file in its place. A file that must be new is linked there,
// which fails where something is; a file system without links takes an empty file first,
// made only if there is none.
func (f *File) place() error {
	if !f.fresh {
		return os.Rename(f.temp, f.target)
	}
	err := os.Link(f.temp, f.target)
	if err == nil {
		return os.Remove(f.temp)
	}
	if errors.Is(err, fs.ErrExist) {
		return fs.ErrExist
	}
	empty, err := os.OpenFile(f.target, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if err != nil {
		return err
	}
	if err := empty.Close(); err != nil {
		return err
	}
	return os.Rename(f.temp, f.target)
}

// settle writes out what is in memory and closes the file.
func (f *File) settle() error {
	if f.failed != nil {
		return f.failed
	}
	if err := f.buffer.Flush(); err != nil {
		return f.cannot(err)
	}
	if f.temp != "" { // devices and pipes cannot be synced
		if err := f.file.Sync(); err != nil {
			return f.cannot(err)
		}
	}
	if err := f.file.Close(); err != nil {
		return f.cannot(err)
	}
	return nil
}

// Abandon gives the output up and leaves the place as it was. After Commit or
// Abandon it does nothing, so that it can be deferred.
func (f *File) Abandon() error {
	if f.done {
		return nil
	}
	f.done = true
	err := f.file.Close()
	if errors.Is(err, fs.ErrClosed) {
		err = nil
	}
	if err != nil {
		err = f.cannot(err)
	}
	return errors.Join(err, f.remove())
}

func (f *File) remove() error {
	if f.temp == "" {
		return nil
	}
	if err := os.Remove(f.temp); err != nil {
		return fmt.Errorf("cannot remove %s, which was left behind: %w", f.temp, err)
	}
	return nil
}
