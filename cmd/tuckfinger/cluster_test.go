package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gopkg.in/yaml.v3"
)

const cluster = "../../examples/cluster"

// The batch script calls the program as its array says, with the variables that
// sbatch sets for job arrays (its manual, "job array support"); the program is
// played by a script that prints what it is called with.
func TestBatchScript(t *testing.T) {
	bin := t.TempDir()
	fake := "#!/bin/sh\necho $GOMAXPROCS \"$@\"\n"
	if err := os.WriteFile(filepath.Join(bin, "tuckfinger"), []byte(fake), 0o755); err != nil {
		t.Fatal(err)
	}
	run := func(args []string, env ...string) (string, error) {
		c := exec.Command("sh", append([]string{filepath.Join(cluster, "sweep.sbatch")}, args...)...)
		c.Env = append(os.Environ(), append([]string{"PATH=" + bin + ":" + os.Getenv("PATH"), "SLURM_CPUS_PER_TASK=3"}, env...)...)
		out, err := c.Output()
		return strings.TrimSpace(string(out)), err
	}
	if got, err := run([]string{"a sweep.yaml", "out"}); err != nil || got != "3 sweep a sweep.yaml -o out" {
		t.Errorf("%q, %v", got, err)
	}
	if got, err := run([]string{"s.yaml", "out"}, "SHARDS=16"); err != nil || got != "3 sweep s.yaml -o out --shards 16" {
		t.Errorf("%q, %v", got, err)
	}
	if _, err := run([]string{"s.yaml"}); err == nil {
		t.Error("a folder is missing, and nothing was said")
	}
	data, err := os.ReadFile(filepath.Join(cluster, "sweep.sbatch"))
	if err != nil {
		t.Fatal(err)
	}
	var options []string
	body := false
	for l := range strings.Lines(string(data)) {
		o, ok := strings.CutPrefix(l, "#SBATCH ")
		if body = body || !strings.HasPrefix(l, "#") && strings.TrimSpace(l) != ""; ok && body {
			t.Errorf("%q stands after the first command, where sbatch ignores it", l)
		}
		if ok {
			options = append(options, strings.TrimSpace(o))
		}
	}
	if !slices.Contains(options, "--array=1-16") || !slices.Contains(options, "--requeue") {
		t.Errorf("options %q", options)
	}
}

// The Job manifest runs the command that its number of completions asks for, and
// the command line is one that the program takes.
func TestJobManifest(t *testing.T) {
	data, err := os.ReadFile(filepath.Join(cluster, "sweep-job.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	var job struct {
		APIVersion string `yaml:"apiVersion"`
		Kind       string
		Spec       struct {
			CompletionMode string `yaml:"completionMode"`
			Completions    int
			Template       struct {
				Spec struct {
					RestartPolicy string `yaml:"restartPolicy"`
					Containers    []struct{ Command []string }
				}
			}
		}
	}
	if err := yaml.Unmarshal(data, &job); err != nil {
		t.Fatal(err)
	}
	s := job.Spec
	if job.APIVersion != "batch/v1" || job.Kind != "Job" || s.CompletionMode != "Indexed" || s.Template.Spec.RestartPolicy != "Never" {
		t.Errorf("%+v", job)
	}
	command := s.Template.Spec.Containers[0].Command
	cmd := sweepCommand()
	if err := cmd.ParseFlags(command[2:]); err != nil {
		t.Fatal(err)
	}
	shards, err := cmd.Flags().GetInt("shards")
	if err != nil || command[0] != "tuckfinger" || command[1] != "sweep" || shards != s.Completions || shards < 2 {
		t.Errorf("%v for %d completions, %v", command, s.Completions, err)
	}
	t.Setenv("SLURM_ARRAY_TASK_ID", "")
	t.Setenv("JOB_COMPLETION_INDEX", "15")
	if shard, err := whichShard("", shards); err != nil || shard.String() != "16/16" {
		t.Errorf("the last pod does shard %s, %v", shard, err)
	}
}
