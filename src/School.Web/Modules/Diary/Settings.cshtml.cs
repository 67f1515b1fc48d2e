using System.Globalization;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.EntityFrameworkCore;
using School.Core.Diary;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary;

/// <summary>The school's booking rules.</summary>
[Needs(Permission.ManageSchool)]
internal sealed class SettingsModel(SchoolDb db, SaveDiarySettings save) : PageModel
{
    private const string LengthsForm = "Write the lengths in minutes with commas between them, such as 60, 90, 120.";

    [BindProperty]
    public RulesInput Input { get; set; } = new();

    public async Task OnGetAsync(CancellationToken cancel) =>
        Input = RulesInput.Of(await db.Set<DiarySettings>().AsNoTracking().SingleAsync(cancel));

    public async Task<IActionResult> OnPostAsync(CancellationToken cancel)
    {
        var lengths = Lengths(Input.LessonMinutes);
        if (lengths is null)
        {
            ModelState.AddModelError("Input.LessonMinutes", LengthsForm);
        }

        if (!ModelState.IsValid)
        {
            return Page();
        }

        var outcome = await save.RunAsync(Input.ToRules(lengths!), Input.Version, cancel);
        if (outcome.Ok)
        {
            TempData["Done"] = "Booking rules saved. They hold from now on; lessons they make impossible are on the attention list.";
            return LocalRedirect("/diary/settings");
        }

        ModelState.AddRefusal(outcome.Refusal, outcome.Refusal.Fields.Count > 0 ? nameof(Input) : "");
        return Page();
    }

    private static List<int>? Lengths(string? typed)
    {
        var parts = (typed ?? "").Split([',', ';', ' '], StringSplitOptions.RemoveEmptyEntries);
        var numbers = parts.Select(part => int.TryParse(part, NumberStyles.None, CultureInfo.InvariantCulture, out var minutes) ? minutes : -1).ToList();
        return numbers.Contains(-1) ? null : numbers;
    }

    internal sealed class RulesInput
    {
        public int GridMinutes { get; set; }

        public string? LessonMinutes { get; set; }

        public int BufferMinutes { get; set; }

        public int NoticeToBookHours { get; set; }

        public int NoticeToMoveHours { get; set; }

        public int HorizonDays { get; set; }

        public int RestAfterMinutes { get; set; }

        public int RestMinutes { get; set; }

        public int DailyTeachingMinutes { get; set; }

        public int? TraineeDailyTeachingMinutes { get; set; }

        public bool FirstLegIsWork { get; set; }

        public bool LastLegIsWork { get; set; }

        public int MinimumAge { get; set; }

        public int MinimumAgeWithMobilityAward { get; set; }

        public int Version { get; set; }

        public static RulesInput Of(DiarySettings row) => new()
        {
            GridMinutes = row.GridMinutes,
            LessonMinutes = string.Join(", ", row.LessonMinutes),
            BufferMinutes = row.BufferMinutes,
            NoticeToBookHours = row.NoticeToBookHours,
            NoticeToMoveHours = row.NoticeToMoveHours,
            HorizonDays = row.HorizonDays,
            RestAfterMinutes = row.RestAfterMinutes,
            RestMinutes = row.RestMinutes,
            DailyTeachingMinutes = row.DailyTeachingMinutes,
            TraineeDailyTeachingMinutes = row.TraineeDailyTeachingMinutes,
            FirstLegIsWork = row.FirstLegIsWork,
            LastLegIsWork = row.LastLegIsWork,
            MinimumAge = row.MinimumAge,
            MinimumAgeWithMobilityAward = row.MinimumAgeWithMobilityAward,
            Version = row.Version,
        };

        public DiaryRules ToRules(IReadOnlyList<int> lengths) => new()
        {
            GridMinutes = GridMinutes,
            LessonMinutes = lengths,
            BufferMinutes = BufferMinutes,
            NoticeToBookHours = NoticeToBookHours,
            NoticeToMoveHours = NoticeToMoveHours,
            HorizonDays = HorizonDays,
            RestAfterMinutes = RestAfterMinutes,
            RestMinutes = RestMinutes,
            DailyTeachingMinutes = DailyTeachingMinutes,
            TraineeDailyTeachingMinutes = TraineeDailyTeachingMinutes,
            FirstLegIsWork = FirstLegIsWork,
            LastLegIsWork = LastLegIsWork,
            MinimumAge = MinimumAge,
            MinimumAgeWithMobilityAward = MinimumAgeWithMobilityAward,
        };
    }
}
