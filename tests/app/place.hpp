// A folder of its own for one test, gone afterwards.
#pragma once

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <string>

namespace proofwalk::app {

class Place {
public:
    Place() : folder_(std::filesystem::temp_directory_path() / ("proofwalk-app-" + std::to_string(getpid()) + "-" + std::to_string(count()++))) {
        std::filesystem::create_directories(folder_);
    }
    ~Place() {
        std::error_code ignored;
        std::filesystem::remove_all(folder_, ignored);
    }
    Place(const Place&) = delete;
    Place& operator=(const Place&) = delete;

    [[nodiscard]] std::filesystem::path operator/(const std::string& name) const { return folder_ / name; }
    std::filesystem::path write(const std::string& name, const std::string& text) const {
        std::ofstream{folder_ / name, std::ios::binary} << text;
        return folder_ / name;
    }
    std::filesystem::path copy(const std::filesystem::path& from, const std::string& name) const {
        std::filesystem::copy_file(from, folder_ / name, std::filesystem::copy_options::overwrite_existing);
        return folder_ / name;
    }
    // The invented plans that come with the program.
    [[nodiscard]] std::filesystem::path small_plan() const { return copy(PROOFWALK_SOURCE_DIR "/fixtures/small/plan.toml", "small.toml"); }
    [[nodiscard]] std::filesystem::path demo_plan() const { return copy(PROOFWALK_SOURCE_DIR "/fixtures/demo/plan.toml", "demo.toml"); }

private:
    static int& count() {
        static int number = 0;
        return number;
    }
    std::filesystem::path folder_;
};

}  // namespace proofwalk::app
