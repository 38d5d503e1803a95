// The lower right of the look back.
#pragma once

#include "app/sheets.hpp"

namespace proofwalk::app {

void draw_look_back_panes(const Stage& stage, Rect rest);

}  // namespace proofwalk::app
