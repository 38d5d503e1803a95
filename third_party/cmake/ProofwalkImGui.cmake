# Debian's Dear ImGui is one static archive whose pkg-config file names neither glfw nor freetype; with --as-needed the order
# matters, so the targets are made by hand.
find_package(OpenGL REQUIRED)
find_package(Freetype REQUIRED)
find_package(glfw3 REQUIRED)
find_library(PROOFWALK_IMGUI_ARCHIVE NAMES libimgui.a REQUIRED)
find_library(PROOFWALK_STB NAMES stb REQUIRED)
find_path(PROOFWALK_IMGUI_INCLUDE imgui.h PATH_SUFFIXES imgui REQUIRED)

add_library(imgui::core STATIC IMPORTED GLOBAL)
set_target_properties(imgui::core PROPERTIES
  IMPORTED_LOCATION "${PROOFWALK_IMGUI_ARCHIVE}"
  INTERFACE_INCLUDE_DIRECTORIES "${PROOFWALK_IMGUI_INCLUDE};${PROOFWALK_IMGUI_INCLUDE}/backends"
  INTERFACE_LINK_LIBRARIES "${PROOFWALK_STB};m;Freetype::Freetype")

# With a window: GLFW and OpenGL behind the same archive.
add_library(imgui::window STATIC IMPORTED GLOBAL)
set_target_properties(imgui::window PROPERTIES
  IMPORTED_LOCATION "${PROOFWALK_IMGUI_ARCHIVE}"
  INTERFACE_LINK_LIBRARIES "imgui::core;glfw;OpenGL::GL;Freetype::Freetype;${CMAKE_DL_LIBS};Threads::Threads")
