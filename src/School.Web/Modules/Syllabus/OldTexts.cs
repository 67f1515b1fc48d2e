using NodaTime;
using School.Core;
using School.Core.Syllabus;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Syllabus;

/// <summary>A source with the texts that rest on it.</summary>
internal sealed record OldSource(TextSource Source, bool FromMemory, IReadOnlyList<SourcedText> Texts);

/// <summary>Texts whose source was last looked at more than a year ago, or never, and what is done about them.</summary>
internal sealed class OldTexts(SchoolInfo school, IClock clock)
{
    /// <summary>Most sources that are marked as read at once.</summary>
    public const int MostSources = 500;

    public async Task<IReadOnlyList<OldSource>> OfAsync(SyllabusEdition edition, CancellationToken cancel) =>
        [.. SourcedTexts.OldOn(edition, await TodayAsync(cancel)).GroupBy(text => new TextSource(text.Source, text.Date))
            .Select(same => new OldSource(same.Key, same.First().FromMemory, [.. same]))];

    public async Task<LocalDate> TodayAsync(CancellationToken cancel) => (await school.GetAsync(cancel)).Today(clock);

    /// <summary>The change for <see cref="Editing.ChangeSyllabus"/>: somebody has read these sources today, and the texts still say what they say.</summary>
    public static Outcome<SyllabusEdition> Reread(SyllabusEdition edition, IReadOnlySet<TextSource> read, LocalDate today)
    {
        var known = SourcedTexts.Of(edition).Select(text => new TextSource(text.Source, text.Date)).ToHashSet();
        return read.FirstOrDefault(source => !known.Contains(source)) is { } missing
            ? Refusal.Rule("source_unknown", $"No text of the syllabus rests on “{SyllabusWords.Source(missing.Name, missing.Date)}”. Look at the list again.")
            : edition.Reread(read, today);
    }
}
