#include "plan/plan.hpp"

#include <algorithm>
#include <array>
#include <cassert>

namespace proofwalk::plan {
namespace {

template <class T>
const T* with_id(const std::vector<T>& items, std::string_view id) {
    const auto found = std::ranges::find(items, id, &T::id);
    return found == items.end() ? nullptr : &*found;
}

bool names(const std::vector<std::string>& boxes, std::string_view box) {
    return std::ranges::find(boxes, box) != boxes.end();
}

constexpr std::array<std::string_view, 6> role_words = {"on-axis",   "top-edge",   "bottom-edge",
                                                        "left-edge", "right-edge", "crossover"};
constexpr std::array<std::string_view, 5> kind_words = {"coupled", "uncoupled", "point-destination", "line", "delay"};

template <class Enum, std::size_t N>
std::optional<Enum> from_word(const std::array<std::string_view, N>& words, std::string_view word) {
    const auto found = std::ranges::find(words, word);
    if (found == words.end()) return std::nullopt;
    return static_cast<Enum>(found - words.begin());
}

}  // namespace

const Model* Plan::model(std::string_view id) const { return with_id(models, id); }
const Box* Plan::box(std::string_view id) const { return with_id(boxes, id); }
const Position* Plan::position(std::string_view id) const { return with_id(positions, id); }

const Model& Plan::model_of(const Box& of) const {
    const Model* found = model(of.model);
    assert(found != nullptr);
    return *found;
}

std::vector<std::string> Plan::circuits() const {
    std::vector<std::string> all;
    for (const Box& one : boxes)
        if (!names(all, one.circuit)) all.push_back(one.circuit);
    return all;
}

std::vector<const Box*> Plan::boxes_of(std::string_view circuit) const {
    std::vector<const Box*> found;
    for (const Box& one : boxes)
        if (one.circuit == circuit) found.push_back(&one);
    return found;
}

const Position* Plan::serving(Role role, std::string_view of) const {
    for (const Position& place : positions)
        for (const Serve& serve : place.serves)
            if (serve.role == role && names(serve.boxes, of)) return &place;
    return nullptr;
}

const Position* Plan::crossover_of(std::string_view first, std::string_view second) const {
    for (const Position& place : positions)
        for (const Serve& serve : place.serves)
            if (serve.role == Role::crossover && serve.boxes.size() == 2 && names(serve.boxes, first) &&
                names(serve.boxes, second))
                return &place;
    return nullptr;
}

std::string_view word(Role role) { return role_words[static_cast<std::size_t>(role)]; }
std::string_view word(ArrayKind kind) { return kind_words[static_cast<std::size_t>(kind)]; }
std::optional<Role> role_from_word(std::string_view text) { return from_word<Role>(role_words, text); }
std::optional<ArrayKind> array_kind_from_word(std::string_view text) { return from_word<ArrayKind>(kind_words, text); }
std::span<const std::string_view> role_names() { return role_words; }
std::span<const std::string_view> array_kind_names() { return kind_words; }

}  // namespace proofwalk::plan
