#include <bit>
#include <cmath>
#include <cstring>

#include "acoustics/sofa_content.hpp"

namespace proofwalk::acoustics {
namespace {

static_assert(std::endian::native == std::endian::little, "both ends are one machine; stated so that a dump can be read");

constexpr std::uint8_t refused = 1, answered = 2;
constexpr std::size_t numbers_a_direction = 3 + band_count;
constexpr std::size_t longest_sentence = 4096;

void put(std::vector<std::byte>& reply, const void* from, std::size_t size) {
    const auto* bytes = static_cast<const std::byte*>(from);
    reply.insert(reply.end(), bytes, bytes + size);
}

void put(std::vector<std::byte>& reply, const std::string& text) {
    const std::string short_enough = text.substr(0, longest_sentence);
    const auto size = static_cast<std::uint32_t>(short_enough.size());
    put(reply, &size, sizeof size);
    put(reply, short_enough.data(), short_enough.size());
}

class Reply {
public:
    explicit Reply(std::span<const std::byte> bytes) : left_(bytes) {}
    bool get(void* to, std::size_t size) {
        if (left_.size() < size) return false;
        std::memcpy(to, left_.data(), size);
        left_ = left_.subspan(size);
        return true;
    }
    bool get(std::string& text) {
        std::uint32_t size = 0;
        if (!get(&size, sizeof size) || size > longest_sentence || size > left_.size()) return false;
        text.resize(size);
        return get(text.data(), size);
    }
    [[nodiscard]] std::size_t left() const { return left_.size(); }

private:
    std::span<const std::byte> left_;
};

bool get(Reply& reply, SofaDirection& direction) {
    double numbers[numbers_a_direction];
    if (!reply.get(numbers, sizeof numbers)) return false;
    direction.towards = {numbers[0], numbers[1], numbers[2]};
    if (!(std::abs(std::hypot(numbers[0], numbers[1], numbers[2]) - 1.0) < 1e-6)) return false;
    for (std::size_t band = 0; band < band_count; ++band)
        if (std::isfinite(numbers[3 + band])) direction.level_db[band] = numbers[3 + band];
    return true;
}

std::unexpected<Fault> nonsense() {
    return std::unexpected(Fault{FaultKind::input, "", "", "this AES69 file is malformed: reading it gave nothing that makes sense",
                                 "write the file anew"});
}

}  // namespace

std::vector<std::byte> reply_of(const Result<std::vector<SofaDirection>>& read) {
    std::vector<std::byte> reply;
    if (!read) {
        put(reply, &refused, 1);
        put(reply, read.error().reason);
        put(reply, read.error().remedy);
        return reply;
    }
    put(reply, &answered, 1);
    reply.reserve(1 + read->size() * numbers_a_direction * sizeof(double));
    for (const SofaDirection& direction : *read) {
        const double towards[] = {direction.towards.x, direction.towards.y, direction.towards.z};
        put(reply, towards, sizeof towards);
        put(reply, direction.level_db.db.data(), sizeof direction.level_db.db);
    }
    return reply;
}

Result<std::vector<SofaDirection>> from_reply(std::span<const std::byte> bytes) {
    Reply reply(bytes);
    std::uint8_t kind = 0;
    if (!reply.get(&kind, 1)) return nonsense();
    if (kind == refused) {
        Fault fault;
        if (!reply.get(fault.reason) || !reply.get(fault.remedy) || reply.left() != 0 || fault.reason.empty()) return nonsense();
        return std::unexpected(std::move(fault));
    }
    if (kind != answered || reply.left() % (numbers_a_direction * sizeof(double)) != 0) return nonsense();
    std::vector<SofaDirection> directions(reply.left() / (numbers_a_direction * sizeof(double)));
    if (directions.size() < fewest_directions) return nonsense();
    for (SofaDirection& direction : directions)
        if (!get(reply, direction)) return nonsense();
    return directions;
}

}  // namespace proofwalk::acoustics
