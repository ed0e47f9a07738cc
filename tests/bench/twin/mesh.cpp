// The limit that the mesh package is measured against: read, exact weld, half-edge twins and mass properties of a binary STL
// in plain C++ with arrays of the same kind and software prefetch. Usage: mesh FILE; prints one line of JSON.
// It finds the edges that have not exactly two triangles and no more: no bodies, copies, or kinds of fault, as the package does.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <fcntl.h>
#include <sys/resource.h>
#include <unistd.h>
#include <vector>

using u32 = uint32_t;
using i32 = int32_t;

static double wallMs() {
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

static double cpuMs() {
  rusage use;
  getrusage(RUSAGE_SELF, &use);
  return (use.ru_utime.tv_sec + use.ru_stime.tv_sec) * 1e3 + (use.ru_utime.tv_usec + use.ru_stime.tv_usec) / 1e3;
}

struct Corner {
  u32 x, y, z;
};

static Corner cornerAt(const uint8_t *record, int k) {
  Corner c;
  memcpy(&c, record + 12 + 12 * k, 12);
  if (c.x == 0x80000000u) c.x = 0;
  if (c.y == 0x80000000u) c.y = 0;
  if (c.z == 0x80000000u) c.z = 0;
  return c;
}

static u32 hashOf(Corner c) {
  u32 h = (c.x * 0x9e3779b1u) ^ (c.y * 0x85ebca77u) ^ (c.z * 0xc2b2ae3du);
  h ^= h >> 15;
  h *= 0x2c1b3c6du;
  return h ^ (h >> 13);
}

struct Mesh {
  u32 triangleCount = 0, vertexCount = 0;
  u32 *triangles = nullptr;
  Corner *vertices = nullptr;
};

static Mesh readAndWeld(const char *file) {
  const u32 BLOCK = 4096;
  Mesh mesh;
  int in = open(file, O_RDONLY);
  uint8_t head[84];
  if (in < 0 || read(in, head, 84) != 84) exit(1);
  memcpy(&mesh.triangleCount, head + 80, 4);
  const u32 count = mesh.triangleCount;
  const u32 capacity = count * 0.66 + 16;
  u32 size = 16;
  while (size < count * 0.55 * 1.6) size *= 2;
  mesh.triangles = (u32 *)malloc(12ull * count);
  mesh.vertices = (Corner *)malloc(12ull * capacity);
  u32 *table = (u32 *)calloc(size, 4);
  std::vector<uint8_t> block(BLOCK * 50);
  std::vector<u32> slots(BLOCK * 3);
  for (u32 first = 0; first < count; first += BLOCK) {
    const u32 n = std::min(BLOCK, count - first);
    if (read(in, block.data(), n * 50) != (ssize_t)(n * 50)) exit(1);
    for (u32 j = 0; j < 3 * n; j++) slots[j] = hashOf(cornerAt(&block[j / 3 * 50], j % 3)) & (size - 1);
    for (u32 j = 0; j < 3 * n; j++) {
      if (j + 36 < 3 * n) __builtin_prefetch(table + slots[j + 36]);
      if (j + 12 < 3 * n) {
        const u32 ahead = table[slots[j + 12]];
        if (ahead) __builtin_prefetch(mesh.vertices + ahead - 1);
      }
      const Corner c = cornerAt(&block[j / 3 * 50], j % 3);
      u32 slot = slots[j], entry;
      while ((entry = table[slot]) != 0) {
        const Corner &v = mesh.vertices[entry - 1];
        if (v.x == c.x && v.y == c.y && v.z == c.z) break;
        slot = (slot + 1) & (size - 1);
      }
      if (!entry) {
        if (mesh.vertexCount == capacity) exit(2); // made for closed surfaces only
        mesh.vertices[mesh.vertexCount] = c;
        table[slot] = entry = ++mesh.vertexCount;
      }
      mesh.triangles[3 * first + j] = entry - 1;
    }
  }
  close(in);
  free(table);
  return mesh;
}

static u32 next(u32 h) { return h % 3 == 2 ? h - 2 : h + 1; }

// Twins by counting sort on the lower vertex; returns the number of edges without exactly two triangles that face alike.
static u32 pairEdges(const Mesh &mesh, i32 *twins) {
  const u32 n = 3 * mesh.triangleCount, *tri = mesh.triangles;
  u32 *start = (u32 *)calloc(mesh.vertexCount + 2, 4), *list = (u32 *)malloc(4ull * n);
  for (u32 h = 0; h < n; h += 3) {
    const u32 a = tri[h], b = tri[h + 1], c = tri[h + 2];
    start[std::min(a, b) + 2]++;
    start[std::min(b, c) + 2]++;
    start[std::min(c, a) + 2]++;
  }
  for (u32 v = 2; v < mesh.vertexCount + 2; v++) start[v] += start[v - 1];
  for (u32 h = 0; h < n; h += 3) {
    const u32 a = tri[h], b = tri[h + 1], c = tri[h + 2];
    list[start[std::min(a, b) + 1]++] = h;
    list[start[std::min(b, c) + 1]++] = h + 1;
    list[start[std::min(c, a) + 1]++] = h + 2;
  }
  std::fill(twins, twins + n, -1);
  u32 bad = 0;
  for (u32 v = 0; v < mesh.vertexCount; v++) {
    for (u32 i = start[v]; i < start[v + 1]; i++) {
      const u32 h = list[i];
      if (twins[h] != -1) continue;
      const u32 from = tri[h], to = tri[next(h)], other = from == v ? to : from;
      u32 more = 0;
      i32 mate = -1;
      for (u32 j = i + 1; j < start[v + 1]; j++) {
        const u32 g = list[j], gFrom = tri[g], gTo = tri[next(g)];
        if ((gFrom == v ? gTo : gFrom) != other) continue;
        more++;
        if (gFrom == to && twins[g] == -1 && mate < 0) mate = g;
      }
      if (mate >= 0) {
        twins[h] = mate;
        twins[mate] = h;
      }
      if (more != 1 || mate < 0) bad++;
    }
  }
  free(start);
  free(list);
  return bad;
}

static double volumeAndMore(const Mesh &mesh, double *out) {
  const float *points = (const float *)mesh.vertices;
  double low[3] = {1e300, 1e300, 1e300}, high[3] = {-1e300, -1e300, -1e300};
  for (u32 v = 0; v < mesh.vertexCount; v++) {
    for (int k = 0; k < 3; k++) {
      low[k] = std::min(low[k], (double)points[3 * v + k]);
      high[k] = std::max(high[k], (double)points[3 * v + k]);
    }
  }
  const double ox = (low[0] + high[0]) / 2, oy = (low[1] + high[1]) / 2, oz = (low[2] + high[2]) / 2;
  double area = 0, vol = 0, x = 0, y = 0, z = 0, xx = 0, yy = 0, zz = 0, xy = 0, yz = 0, zx = 0;
  for (u32 h = 0; h < 3 * mesh.triangleCount; h += 3) {
    const float *a = points + 3ull * mesh.triangles[h], *b = points + 3ull * mesh.triangles[h + 1],
                *c = points + 3ull * mesh.triangles[h + 2];
    const double ax = a[0] - ox, ay = a[1] - oy, az = a[2] - oz, bx = b[0] - ox, by = b[1] - oy, bz = b[2] - oz,
                 cx = c[0] - ox, cy = c[1] - oy, cz = c[2] - oz;
    const double ux = bx - ax, uy = by - ay, uz = bz - az, vx = cx - ax, vy = cy - ay, vz = cz - az;
    const double nx = uy * vz - uz * vy, ny = uz * vx - ux * vz, nz = ux * vy - uy * vx;
    area += std::sqrt(nx * nx + ny * ny + nz * nz);
    const double d = ax * nx + ay * ny + az * nz, sx = ax + bx + cx, sy = ay + by + cy, sz = az + bz + cz;
    vol += d, x += d * sx, y += d * sy, z += d * sz;
    xx += d * (sx * sx + ax * ax + bx * bx + cx * cx);
    yy += d * (sy * sy + ay * ay + by * by + cy * cy);
    zz += d * (sz * sz + az * az + bz * bz + cz * cz);
    xy += d * (sx * sy + ax * ay + bx * by + cx * cy);
    yz += d * (sy * sz + ay * az + by * bz + cy * cz);
    zx += d * (sz * sx + az * ax + bz * bx + cz * cx);
  }
  const double all[] = {area / 2, x, y, z, xx, yy, zz, xy, yz, zx};
  memcpy(out, all, sizeof all);
  return vol / 6;
}

int main(int, char **argv) {
  const double t0 = wallMs(), c0 = cpuMs();
  const Mesh mesh = readAndWeld(argv[1]);
  const double t1 = wallMs();
  i32 *twins = (i32 *)malloc(12ull * mesh.triangleCount);
  const u32 bad = pairEdges(mesh, twins);
  const double t2 = wallMs();
  double figures[10];
  const double volume = volumeAndMore(mesh, figures);
  const double t3 = wallMs(), c3 = cpuMs();
  rusage use;
  getrusage(RUSAGE_SELF, &use);
  printf("{\"readMs\":%.2f,\"topologyMs\":%.2f,\"massMs\":%.2f,\"totalMs\":%.2f,\"cpuMs\":%.2f,\"vertices\":%u,\"badEdges\":%u,"
         "\"volume\":%.9g,\"areaCheck\":%.9g,\"twinCheck\":%d,\"peakMb\":%.1f}\n",
         t1 - t0, t2 - t1, t3 - t2, t3 - t0, c3 - c0, mesh.vertexCount, bad, volume, figures[0], twins[0],
         use.ru_maxrss / 1000.0);
}
