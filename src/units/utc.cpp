#include "units/utc.hpp"

#include <fmt/format.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>

namespace proofwalk {

Moment now() {
    const std::time_t seconds = std::time(nullptr);
    std::tm local{};
    localtime_r(&seconds, &local);
    return {seconds, static_cast<std::int32_t>(local.tm_gmtoff / 60)};
}

std::string to_text(Moment moment) {
    using namespace std::chrono;
    const sys_seconds local{seconds{moment.utc_s + std::int64_t{60} * moment.offset_min}};
    const auto day = floor<days>(local);
    const year_month_day date{day};
    const hh_mm_ss clock{local - day};
    std::string zone = "Z";
    if (moment.offset_min != 0) {
        const int minutes = std::abs(moment.offset_min);
        zone = fmt::format("{}{:02}:{:02}", moment.offset_min < 0 ? '-' : '+', minutes / 60, minutes % 60);
    }
    return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}{}", static_cast<int>(date.year()),
                       static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()), clock.hours().count(),
                       clock.minutes().count(), clock.seconds().count(), zone);
}

std::optional<Moment> moment_from_text(std::string_view text) {
    const std::string copy{text};
    int year = 0, hour = 0, minute = 0, second = 0, consumed = 0;
    unsigned month = 0, day = 0;
    if (std::sscanf(copy.c_str(), "%d-%u-%uT%d:%d:%d%n", &year, &month, &day, &hour, &minute, &second, &consumed) != 6)
        return std::nullopt;
    using namespace std::chrono;
    const year_month_day date{std::chrono::year{year}, std::chrono::month{month}, std::chrono::day{day}};
    if (!date.ok() || hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 60)
        return std::nullopt;
    const std::string zone = copy.substr(static_cast<std::size_t>(consumed));
    std::int32_t offset_min = 0;
    if (zone != "Z" && zone != "z") {
        char sign = 0;
        int zone_hours = 0, zone_minutes = 0;
        if (std::sscanf(zone.c_str(), "%c%2d:%2d", &sign, &zone_hours, &zone_minutes) != 3 ||
            (sign != '+' && sign != '-'))
            return std::nullopt;
        offset_min = (sign == '-' ? -1 : 1) * (zone_hours * 60 + zone_minutes);
    }
    const auto local = sys_days{date} + hours{hour} + minutes{minute} + seconds{second};
    return Moment{local.time_since_epoch().count() - std::int64_t{60} * offset_min, offset_min};
}

}  // namespace proofwalk
