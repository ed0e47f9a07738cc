// npm run bench -- mesh-fuzz [--cases 10000] [--seed 1] [--format 3mf]: damaged files of every format (tests/fuzz).
await import('../fuzz/mesh-fuzz.mjs');
