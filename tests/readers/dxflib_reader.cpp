// Read a DXF with dxflib and print what it holds, one line each:
//   variable <name> <value>
//   polyline <layer> <closed> <vertices> <area> <min x> <min y> <max x> <max y>
//   line <layer> / text <layer> <height> <words>
// Area and bounds are taken here from the vertices and bulges, by circular segments.
#include <dxflib/dl_creationadapter.h>
#include <dxflib/dl_dxf.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <vector>

class Reader : public DL_CreationAdapter {
    std::vector<DL_VertexData> ring;
    std::string layer;
    int flags = 0;

    void finish() {
        if (ring.empty()) return;
        double area = 0, x0 = 1e99, y0 = 1e99, x1 = -1e99, y1 = -1e99;
        auto grow = [&](double x, double y) {
            x0 = std::min(x0, x), y0 = std::min(y0, y), x1 = std::max(x1, x), y1 = std::max(y1, y);
        };
        for (size_t i = 0; i < ring.size(); ++i) {
            const DL_VertexData &a = ring[i], &b = ring[(i + 1) % ring.size()];
            grow(a.x, a.y);
            area += (a.x * b.y - b.x * a.y) / 2;
            if (a.bulge == 0) continue;
            const double dx = b.x - a.x, dy = b.y - a.y, chord = std::hypot(dx, dy);
            const double sagitta = a.bulge * chord / 2, angle = 4 * std::atan(a.bulge);
            const double radius = (chord * chord / 4 + sagitta * sagitta) / (2 * std::fabs(sagitta));
            area += radius * radius * (angle - std::sin(angle)) / 2;
            // The centre lies on the chord's bisector, left of it for a flat anticlockwise arc.
            const double off = (radius - std::fabs(sagitta)) * (a.bulge > 0 ? 1 : -1);
            const double cx = (a.x + b.x) / 2 - off * dy / chord, cy = (a.y + b.y) / 2 + off * dx / chord;
            const double start = std::atan2(a.y - cy, a.x - cx);
            for (int k = 0; k < 20000; ++k) {
                const double t = start + angle * k / 20000;
                grow(cx + radius * std::cos(t), cy + radius * std::sin(t));
            }
        }
        std::printf("polyline %s %d %zu %.9f %.6f %.6f %.6f %.6f\n", layer.c_str(), flags & 1,
                    ring.size(), area, x0, y0, x1, y1);
        ring.clear();
    }

public:
    void addPolyline(const DL_PolylineData& d) override {
        finish();
        layer = attributes.getLayer(), flags = d.flags;
    }
    void addVertex(const DL_VertexData& d) override { ring.push_back(d); }
    void endSequence() override { finish(); }
    void endEntity() override { finish(); }
    void addLine(const DL_LineData&) override { std::printf("line %s\n", attributes.getLayer().c_str()); }
    void addText(const DL_TextData& d) override {
        std::printf("text %s %.3f %s\n", attributes.getLayer().c_str(), d.height, d.text.c_str());
    }
    void setVariableInt(const std::string& key, int value, int) override {
        std::printf("variable %s %d\n", key.c_str(), value);
    }
};

int main(int, char** argv) {
    Reader reader;
    DL_Dxf dxf;
    return dxf.in(argv[1], &reader) ? 0 : 1;
}
