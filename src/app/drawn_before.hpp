// What stands on the screen already: most frames after an event come out the same and need not be painted again.
#pragma once

#include <cstdint>
#include <cstring>
#include <vector>

#include <imgui.h>

namespace proofwalk::app {

class DrawnBefore {
public:
    // Whether this differs from what was asked about last, which it replaces.
    [[nodiscard]] bool differs(const ImDrawData& data, std::uint32_t ground) {
        now_.clear();
        add(&ground, 1);
        add(&data.DisplaySize, 1);
        for (int l = 0; l < data.CmdListsCount; ++l) {
            const ImDrawList& list = *data.CmdLists[l];
            for (const ImDrawCmd& command : list.CmdBuffer) {
                add(&command.ClipRect, 1);
                add(&command.TextureId, 1);
                add(&command.ElemCount, 1);
            }
            add(list.IdxBuffer.Data, static_cast<std::size_t>(list.IdxBuffer.Size));
            add(list.VtxBuffer.Data, static_cast<std::size_t>(list.VtxBuffer.Size));
        }
        before_.swap(now_);
        return before_ != now_;
    }
    void forget() { before_.clear(); }

private:
    template <class Value>
    void add(const Value* values, std::size_t count) {
        const std::size_t at = now_.size();
        now_.resize(at + count * sizeof(Value));
        if (count > 0) std::memcpy(now_.data() + at, values, count * sizeof(Value));
    }

    std::vector<unsigned char> before_, now_;
};

}  // namespace proofwalk::app
