using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Diary.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;
using School.Web.Platform.Layout;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>What is different about a mock test, in words for its history.</summary>
internal static class MockDifference
{
    public static bool Any(MockTestRequest before, MockTestRequest after) =>
        before with { Faults = null } != after with { Faults = null } || !before.Faults!.SequenceEqual(after.Faults!);

    public static string Words(MockTestRequest before, MockTestRequest after)
    {
        var parts = new List<string>();
        parts.AddRange(Missing(before.Faults!, after.Faults!).Select(fault => $"removed {Of(fault)}"));
        parts.AddRange(Missing(after.Faults!, before.Faults!).Select(fault => $"added {Of(fault)}"));
        Add(before.On != after.On, $"day {ScreenWords.DayAndYear(before.On!.Value)} → {ScreenWords.DayAndYear(after.On!.Value)}");
        Add(before.LessonId != after.LessonId, "another lesson");
        Add(before.EtaVerbal != after.EtaVerbal, $"spoke up {before.EtaVerbal} → {after.EtaVerbal}");
        Add(before.EtaPhysical != after.EtaPhysical, $"took hold {before.EtaPhysical} → {after.EtaPhysical}");
        Add(before.Note != after.Note, $"the note, which was: {(before.Note!.Length > 0 ? $"“{before.Note}”" : "none")}");
        var words = string.Join("; ", parts);
        return words.Length == 0 ? "" : char.ToUpperInvariant(words[0]) + words[1..] + ".";

        void Add(bool changed, string what)
        {
            if (changed)
            {
                parts.Add(what);
            }
        }
    }

    private static List<MockFaultBody> Missing(IReadOnlyList<MockFaultBody> from, IReadOnlyList<MockFaultBody> among)
    {
        var left = among.ToList();
        return from.Where(fault => !left.Remove(fault)).ToList();
    }

    private static string Of(MockFaultBody fault) =>
        $"{TestHeadings.Find(fault.Heading)!.Words}, {fault.Kind.Word()}{(fault.Note is { Length: > 0 } note ? $" (“{note}”)" : "")}";
}
