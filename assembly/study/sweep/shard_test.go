package sweep

import (
	"strings"
	"testing"
)

func TestParseShard(t *testing.T) {
	for i, n := 1, 12; i <= n; i++ {
		want := Shard{i - 1, n}
		if s, err := ParseShard(want.String()); err != nil || s != want {
			t.Errorf("%v: got %v, %v", want, s, err)
		}
	}
	for _, bad := range []string{"", "3", "0/8", "9/8", "1/0", "-1/8", "a/b", "1/2/3"} {
		if s, err := ParseShard(bad); err == nil {
			t.Errorf("%q is taken for %v", bad, s)
		}
	}
}

// Shards part the variants, none missing, none doubled.
func TestShardsPartTheVariants(t *testing.T) {
	for _, n := range []int{0, 1, 5, 64, 1000} {
		for _, count := range []int{1, 2, 3, 8, 70} {
			seen := make([]int, n)
			for i := range count {
				s := Shard{i, count}
				for k := range s.size(n) {
					v := s.variant(k)
					if back, ok := s.ordinal(v); !ok || back != k {
						t.Fatalf("shard %v: variant %d is ordinal %d, %v, want %d", s, v, back, ok, k)
					}
					seen[v]++
				}
			}
			for v, c := range seen {
				if c != 1 {
					t.Fatalf("%d variants, %d shards: %d is in %d of them", n, count, v, c)
				}
			}
		}
	}
}

// The variables are those of the sbatch manual and of the Job documentation.
func TestShardFromEnv(t *testing.T) {
	array := func(id, low, high, n string) map[string]string {
		return map[string]string{"SLURM_ARRAY_TASK_ID": id, "SLURM_ARRAY_TASK_MIN": low, "SLURM_ARRAY_TASK_MAX": high, "SLURM_ARRAY_TASK_COUNT": n}
	}
	job := map[string]string{"JOB_COMPLETION_INDEX": "0"}
	for _, c := range []struct {
		env   map[string]string
		count int
		want  string // shard, "" for none, or the error
	}{
		{nil, 0, ""},
		{nil, 8, ""},
		{array("3", "1", "8", "8"), 0, "3/8"},
		{array("0", "0", "7", "8"), 0, "1/8"},
		{array("5", "3", "5", "2"), 8, "5/8"},
		{array("5", "3", "5", "2"), 0, "error: the job array has 2 tasks numbered from 3 to 5"},
		{array("3", "3", "3", "1"), 0, "error: the job array starts at task 3"},
		{array("4", "3", "5", "3"), 0, "error: the job array starts at task 3"},
		{array("1", "1", "1", "1"), 0, "1/1"},
		{array("9", "9", "9", "1"), 8, "error: SLURM_ARRAY_TASK_ID is 9, outside of 8 shards"},
		{array("x", "1", "8", "8"), 0, "error: environment variable SLURM_ARRAY_TASK_ID is \"x\""},
		{job, 4, "1/4"},
		{job, 0, "error: JOB_COMPLETION_INDEX is set, but a Job does not tell"},
		{map[string]string{"JOB_COMPLETION_INDEX": "4"}, 4, "error: JOB_COMPLETION_INDEX is 4, outside of 4 shards"},
	} {
		s, ok, err := ShardFromEnv(func(k string) string { return c.env[k] }, c.count)
		got := ""
		if ok {
			got = s.String()
		}
		if err != nil {
			got = "error: " + err.Error()
		}
		if !strings.HasPrefix(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%v, %d: got %q, want %q", c.env, c.count, got, c.want)
		}
	}
}
