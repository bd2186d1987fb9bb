package folder

import (
	"errors"
	"io"
	"runtime"
	"sync"
)

// File is a file to be written: its name and what writes its content.
type File struct {
	Name  string
	Write func(io.Writer) error
}

// Write makes an output of the given files in one call, at most workers of them
// at a time (0: one for each processor). The bytes do not depend on workers. On
// an error nothing is left behind and dst is as it was.
func Write(dst string, files []File, workers int) error {
	out, err := Create(dst)
	if err != nil {
		return err
	}
	// The failures of the files are all in Commit's error.
	AddAll(out, files, workers)
	return out.Commit()
}

// AddAll adds files to any Files, at most workers at a time (0: one for each
// processor), and returns the joined errors in the order of files.
func AddAll(to Files, files []File, workers int) error {
	if workers <= 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	fails := make([]error, len(files))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(workers, len(files)) {
		wg.Go(func() {
			for i := range next {
				fails[i] = to.Add(files[i].Name, files[i].Write)
			}
		})
	}
	for i := range files {
		next <- i
	}
	close(next)
	wg.Wait()
	return errors.Join(fails...)
}
