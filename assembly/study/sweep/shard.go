package sweep

import (
	"fmt"
	"strconv"
	"strings"
)

// Shard is one of Count parts of a sweep that need not know of each other: the
// variants whose index leaves the remainder Index when divided by Count. The
// zero Shard is the whole sweep.
type Shard struct {
	Index int // from 0
	Count int // 0 means 1
}

// ParseShard reads "3/8", the third of eight shards.
func ParseShard(s string) (Shard, error) {
	a, b, ok := strings.Cut(s, "/")
	i, err1 := strconv.Atoi(a)
	n, err2 := strconv.Atoi(b)
	if !ok || err1 != nil || err2 != nil || n < 1 || i < 1 || i > n {
		return Shard{}, fmt.Errorf("shard %q; give i/n with i from 1 to n, such as 3/8", s)
	}
	return Shard{i - 1, n}, nil
}

// String is the form that ParseShard reads.
func (s Shard) String() string { return fmt.Sprintf("%d/%d", s.Index+1, s.count()) }

func (s Shard) count() int { return max(1, s.Count) }

func (s Shard) check() error {
	if s.Index < 0 || s.Index >= s.count() {
		return fmt.Errorf("shard index %d of %d; give 0 to %d", s.Index, s.count(), s.count()-1)
	}
	return nil
}

// size is the number of the shard's variants of a sweep of n.
func (s Shard) size(n int) int { return (n - s.Index + s.count() - 1) / s.count() }

// variant is the index of the shard's k-th variant.
func (s Shard) variant(k int) int { return s.Index + k*s.count() }

// ordinal is the inverse of variant; ok is false for another shard's variant.
func (s Shard) ordinal(i int) (k int, ok bool) {
	return (i - s.Index) / s.count(), i >= s.Index && (i-s.Index)%s.count() == 0
}

// ShardFromEnv finds the shard that a batch system gives to this process, by
// the variables of a Slurm job array (sbatch manual, "job array support") or of
// an indexed Kubernetes Job (Job documentation, "completion mode"). ok is false
// where neither is set.
//
// count is the number of shards if the user said it, else 0. A Job does not
// tell its number of completions, so there it must be given. With count, the
// numbers of a job array run from 1 to count, so that a few of them can be run
// again; without, all of the array's numbers must be there, from 0 or 1 on.
func ShardFromEnv(getenv func(string) string, count int) (s Shard, ok bool, err error) {
	number := func(name string) int {
		v, e := strconv.Atoi(getenv(name))
		if e != nil && err == nil {
			err = fmt.Errorf("environment variable %s is %q; it should be a whole number", name, getenv(name))
		}
		return v
	}
	var source string
	switch {
	case getenv("SLURM_ARRAY_TASK_ID") != "":
		source = "SLURM_ARRAY_TASK_ID"
		id := number(source)
		if count > 0 {
			s = Shard{id - 1, count}
			break
		}
		low, high, n := number("SLURM_ARRAY_TASK_MIN"), number("SLURM_ARRAY_TASK_MAX"), number("SLURM_ARRAY_TASK_COUNT")
		if err == nil && high-low+1 != n {
			return s, false, fmt.Errorf("the job array has %d tasks numbered from %d to %d, so some numbers are left out; number them without gaps, or say how many shards there are", n, low, high)
		}
		if err == nil && low > 1 { // most likely some that are run again
			return s, false, fmt.Errorf("the job array starts at task %d; let a whole one start at 1, or say how many shards there are", low)
		}
		s = Shard{id - low, n}
	case getenv("JOB_COMPLETION_INDEX") != "":
		source = "JOB_COMPLETION_INDEX"
		id := number(source)
		if err == nil && count == 0 {
			return s, false, fmt.Errorf("%s is set, but a Job does not tell its number of completions; say how many shards there are", source)
		}
		s = Shard{id, count}
	default:
		return s, false, nil
	}
	if err != nil {
		return Shard{}, false, err
	}
	if s.check() != nil {
		return Shard{}, false, fmt.Errorf("%s is %s, outside of %d shards", source, getenv(source), s.count())
	}
	return s, true, nil
}
