// rays FILE.stl: the same tree and walk as packages/mesh (ray-tree.ts, cast-rays.ts) in C++, as the limit of the method. Prints times as
// JSON; reading, welding and making of the rays are not timed. Build: g++ -O3 -march=native
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <vector>

using std::vector;
static const int BINS = 16, LEAF = 4, RAYS = 200000;
static vector<float> soup, bounds, boxes, corners;
static vector<uint32_t> order;
static vector<int32_t> link_;
static vector<uint8_t> size_;

static double wallMs() {
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now().time_since_epoch()).count();
}
static double cpuMs() { return 1000.0 * std::clock() / CLOCKS_PER_SEC; }

static double halfArea(const float *b) {
  double x = b[3] - b[0], y = b[4] - b[1], z = b[5] - b[2];
  return x * y + y * z + z * x;
}
static void grow(float *to, const float *b) {
  for (int k = 0; k < 3; k++) {
    to[k] = std::min(to[k], b[k]);
    to[3 + k] = std::max(to[3 + k], b[3 + k]);
  }
}
static void empty(float *b) {
  for (int k = 0; k < 3; k++) b[k] = INFINITY, b[3 + k] = -INFINITY;
}

static int partition(int from, int to, int axis, double low, double extent) {
  double scale = BINS * (1 - 1.0 / (1 << 20)) / extent;
  int counts[BINS] = {0};
  float box[6 * BINS];
  for (int i = 0; i < BINS; i++) empty(box + 6 * i);
  auto bin = [&](uint32_t t) { return (int)(((double)bounds[6 * t + axis] + bounds[6 * t + 3 + axis] - low) * scale); };
  for (int i = from; i < to; i++) {
    int q = bin(order[i]);
    counts[q]++;
    grow(box + 6 * q, &bounds[6 * order[i]]);
  }
  double costs[BINS], best = INFINITY;
  float sum[6];
  empty(sum);
  int count = 0, at = 1;
  for (int q = BINS - 1; q >= 0; q--) {
    count += counts[q];
    if (counts[q]) grow(sum, box + 6 * q);
    costs[q] = count ? count * halfArea(sum) : INFINITY;
  }
  empty(sum);
  count = 0;
  for (int q = 0; q < BINS - 1; q++) {
    count += counts[q];
    if (counts[q]) grow(sum, box + 6 * q);
    double cost = (count ? count * halfArea(sum) : INFINITY) + costs[q + 1];
    if (cost < best) best = cost, at = q + 1;
  }
  int i = from, j = to;
  while (i < j) {
    if (bin(order[i]) < at) i++;
    else std::swap(order[i], order[--j]);
  }
  return i;
}

static void build(int count) {
  bounds.resize(6 * count);
  order.resize(count);
  for (int t = 0; t < count; t++) {
    order[t] = t;
    for (int k = 0; k < 3; k++) {
      float a = soup[9 * t + k], b = soup[9 * t + 3 + k], c = soup[9 * t + 6 + k];
      bounds[6 * t + k] = std::min(a, std::min(b, c));
      bounds[6 * t + 3 + k] = std::max(a, std::max(b, c));
    }
  }
  boxes.resize(12 * count), link_.resize(2 * count), size_.assign(2 * count, 0);
  vector<int> stack = {0, 0, count};
  int nodes = 1;
  while (!stack.empty()) {
    int to = stack.back(), from = stack[stack.size() - 2], node = stack[stack.size() - 3];
    stack.resize(stack.size() - 3);
    float box[6];
    double centre[6] = {INFINITY, INFINITY, INFINITY, -INFINITY, -INFINITY, -INFINITY};
    empty(box);
    for (int i = from; i < to; i++) {
      const float *b = &bounds[6 * order[i]];
      grow(box, b);
      for (int k = 0; k < 3; k++) {
        double c = (double)b[k] + b[3 + k];
        centre[k] = std::min(centre[k], c), centre[3 + k] = std::max(centre[3 + k], c);
      }
    }
    memcpy(&boxes[6 * node], box, sizeof box);
    int axis = 0;
    for (int k = 1; k < 3; k++)
      if (centre[3 + k] - centre[k] > centre[3 + axis] - centre[axis]) axis = k;
    double extent = centre[3 + axis] - centre[axis];
    int at = (from + to) / 2;
    if (to - from <= LEAF) at = from;
    else if (extent > 0) at = partition(from, to, axis, centre[axis], extent);
    if (at == from && to - from <= 255) {
      link_[node] = -1 - from, size_[node] = to - from;
      continue;
    }
    if (at == from || at == to) at = (from + to) / 2;
    link_[node] = nodes;
    for (int v : {nodes + 1, at, to, nodes, from, at}) stack.push_back(v);
    nodes += 2;
  }
  corners.resize(9 * count);
  for (int i = 0; i < count; i++)
    for (int k = 0; k < 3; k++) {
      float a = soup[9 * order[i] + k];
      corners[9 * i + k] = a;
      corners[9 * i + 3 + k] = soup[9 * order[i] + 3 + k] - a, corners[9 * i + 6 + k] = soup[9 * order[i] + 6 + k] - a;
    }
}

static inline bool enter(const float *b, const float *o, const float *inv, const int *near, float best, float &t0) {
  t0 = (b[near[0]] - o[0]) * inv[0];
  float t1 = (b[3 - near[0]] - o[0]) * inv[0];
  t0 = std::max(t0, (b[near[1]] - o[1]) * inv[1]), t1 = std::min(t1, (b[5 - near[1]] - o[1]) * inv[1]);
  t0 = std::max(t0, (b[near[2]] - o[2]) * inv[2]), t1 = std::min(t1, (b[7 - near[2]] - o[2]) * inv[2]);
  return t0 <= t1 * (1 + 1.0f / (1 << 21)) && t1 >= 0 && t0 <= best;
}

static float cast(const float *ray) {
  const float *o = ray, *d = ray + 3;
  float inv[3], best = INFINITY, entry[512];
  int near[3], stack[512], depth = 0, node = 0;
  for (int k = 0; k < 3; k++) inv[k] = 1 / (d[k] == 0 ? 1e-30f : d[k]), near[k] = d[k] < 0 ? k + 3 : k;
  for (;;) {
    int n = size_[node];
    if (n == 0) {
      int left = link_[node];
      float t0, u0;
      bool a = enter(&boxes[6 * left], o, inv, near, best, t0), b = enter(&boxes[6 * left + 6], o, inv, near, best, u0);
      if (a && b) {
        bool first = t0 <= u0;
        stack[depth] = first ? left + 1 : left, entry[depth++] = first ? u0 : t0;
        node = first ? left : left + 1;
        continue;
      }
      if (a || b) {
        node = a ? left : left + 1;
        continue;
      }
    } else {
      const float *c = &corners[9 * (-1 - link_[node])];
      for (int i = 0; i < n; i++, c += 9) {
        float ux = c[3], uy = c[4], uz = c[5], vx = c[6], vy = c[7], vz = c[8];
        float px = d[1] * vz - d[2] * vy, py = d[2] * vx - d[0] * vz, pz = d[0] * vy - d[1] * vx;
        float det = ux * px + uy * py + uz * pz;
        if (det == 0) continue;
        float inverse = 1 / det, sx = o[0] - c[0], sy = o[1] - c[1], sz = o[2] - c[2];
        float u = (sx * px + sy * py + sz * pz) * inverse;
        if (u < 0 || u > 1) continue;
        float qx = sy * uz - sz * uy, qy = sz * ux - sx * uz, qz = sx * uy - sy * ux;
        float v = (d[0] * qx + d[1] * qy + d[2] * qz) * inverse;
        if (v < 0 || u + v > 1) continue;
        float t = (vx * qx + vy * qy + vz * qz) * inverse;
        if (t >= 0 && t <= best) best = t;
      }
    }
    do {
      if (depth == 0) return best;
      node = stack[--depth];
    } while (entry[depth] > best);
  }
}

int main(int argc, char **argv) {
  FILE *f = fopen(argv[1], "rb");
  if (!f) return 1;
  uint8_t head[84], record[50];
  if (fread(head, 1, 84, f) != 84) return 1;
  uint32_t count;
  memcpy(&count, head + 80, 4);
  soup.resize(9 * (size_t)count);
  for (uint32_t t = 0; t < count; t++) {
    if (fread(record, 1, 50, f) != 50) return 1;
    memcpy(&soup[9 * t], record + 12, 36);
  }
  vector<float> rays(6 * RAYS);
  for (int i = 0; i < RAYS; i++) {
    const float *p = &soup[9 * (size_t)((double)i * count / RAYS)];
    double u[3], v[3];
    for (int k = 0; k < 3; k++) u[k] = p[3 + k] - p[k], v[k] = p[6 + k] - p[k];
    double n[3] = {u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]};
    double length = std::sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
    if (!(length > 0)) length = 1;
    for (int k = 0; k < 3; k++) {
      rays[6 * i + k] = (p[k] + p[3 + k] + p[6 + k]) / 3 - n[k] / length * 1e-3;
      rays[6 * i + 3 + k] = -n[k] / length;
    }
  }
  double w0 = wallMs(), c0 = cpuMs();
  build(count);
  double w1 = wallMs();
  int hits = 0;
  double sum = 0;
  for (int i = 0; i < RAYS; i++) {
    float t = cast(&rays[6 * i]);
    if (t < INFINITY) hits++, sum += t;
  }
  double w2 = wallMs();
  printf("{\"buildMs\":%.3f,\"castMs\":%.3f,\"totalMs\":%.3f,\"cpuMs\":%.3f,\"hits\":%d,\"sum\":%.3f}\n", w1 - w0, w2 - w1, w2 - w0,
         cpuMs() - c0, hits, sum);
}
