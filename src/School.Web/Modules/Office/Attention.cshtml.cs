using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using NodaTime;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Office;

/// <summary>Everything that waits for somebody, worked out afresh each time: what is put right is gone.</summary>
[Needs(Permission.SeeWholeDiary)]
internal sealed class AttentionModel(LivePages live, AttentionList attention, SchoolInfo school, IClock clock) : PageModel
{
    // What has room beside eight lanes: a line for the button of each, and lines of so many letters.
    private const int LinesBeside = 33;
    private const int LettersALine = 27;

    public IReadOnlyList<IGrouping<AttentionUrgency, AttentionEntry>> Groups { get; private set; } = [];

    public LocalDate Today { get; private set; }

    public LivePage Live => live.OfAll("what needs attention");

    public async Task OnGetAsync(CancellationToken cancel) =>
        (Groups, Today) = ([.. (await attention.EntriesAsync(cancel)).GroupBy(entry => entry.Urgency)], (await school.GetAsync(cancel)).Today(clock));

    public static string Words(AttentionUrgency urgency) => urgency switch
    {
        AttentionUrgency.Now => "Now",
        AttentionUrgency.Today => "Before the day is over",
        AttentionUrgency.Soon => "Soon",
    };

    /// <summary>For beside the board: the first by when they bite.</summary>
    public async Task<IActionResult> OnGetBesideAsync(CancellationToken cancel)
    {
        var items = await attention.AttentionAsync(cancel);
        var today = (await school.GetAsync(cancel)).Today(clock);
        var (first, left) = (new List<AttentionItem>(), LinesBeside);
        foreach (var item in items.OrderBy(item => item.Since).ThenBy(item => item.Heading.Rank))
        {
            left -= 3 + item.Sentence.Length / LettersALine;
            if (left < 0)
            {
                break;
            }

            first.Add(item);
        }

        return Partial("_AttentionBeside", new AttentionBeside(first, items.Count, today));
    }
}

/// <summary>What the board shows of it: what bites first, and how many there are.</summary>
internal sealed record AttentionBeside(IReadOnlyList<AttentionItem> First, int Count, LocalDate Today);
