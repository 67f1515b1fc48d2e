using System.Text.Json.Serialization;
using NodaTime;
using School.Core;
using School.Core.Diary.TestDays;
using School.Core.Syllabus.Mocks;
using School.Web.Modules.Diary.Contracts;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>One fault: a code of the marking sheet's headings and how grave.</summary>
internal sealed record MockFaultBody(
    [property: JsonRequired, Heading] string Heading, [property: JsonRequired] FaultKind Kind, [property: AtMost(MockTest.LongestFaultNote)] string? Note = null);

/// <summary>A mock test as a whole. Without a day it is the lesson's, else today. While a lesson of the pupil or of who writes is on, nothing is taken
/// before NotSupervising says that another supervises, or that they are parked.</summary>
internal sealed record MockTestRequest(
    LocalDate? On = null, Guid? LessonId = null, [property: Items(0, MockTest.MostFaults)] IReadOnlyList<MockFaultBody>? Faults = null,
    [property: Between(0, MockTest.MostEta)] int EtaVerbal = 0, [property: Between(0, MockTest.MostEta)] int EtaPhysical = 0,
    [property: AtMost(MockTest.LongestNote)] string? Note = null, bool Finished = false,
    bool NotSupervising = false)
{
    public static MockTestRequest Of(MockTest mock) => new(
        mock.On, mock.LessonId, [.. mock.Faults.Select(fault => new MockFaultBody(fault.Heading, fault.Kind, fault.Note))], mock.EtaVerbal, mock.EtaPhysical, mock.Note,
        mock.FinishedAt is not null);

    /// <summary>The faults as they are kept; those that stay keep their numbers.</summary>
    public List<NotedFault> ReadFaults(MockTest mock, FieldErrors errors)
    {
        var faults = Faults ?? [];
        foreach (var fault in faults)
        {
            errors.When(TestHeadings.Find(fault.Heading ?? "") is null, nameof(Faults), $"There is no heading “{CleanText.Line(fault.Heading)}” on the marking sheet.");
        }

        errors.When(
            faults.Any(fault => fault is { Heading: TestHeadings.Eyesight, Kind: FaultKind.Driving }), nameof(Faults),
            "Eyesight is passed or failed, never a driving fault. Name it as serious where the number plate could not be read: the test is then failed.");
        errors.When(faults.Count > MockTest.MostFaults, nameof(Faults), $"A mock test holds {MockTest.MostFaults} faults at most.");
        errors.When(
            faults.Count(fault => fault is { Heading: TestHeadings.SafetyQuestions, Kind: FaultKind.Driving }) > MockMarking.SafetyQuestions, nameof(Faults),
            "There are two safety questions, so no more than two can be answered wrongly; together they count one driving fault.");
        var (left, next) = (mock.Faults.ToList(), mock.Next);
        return [.. faults.Select(fault => Keep(fault, errors.ReadLine(nameof(Faults), fault.Note, MockTest.LongestFaultNote)))];

        NotedFault Keep(MockFaultBody fault, string note)
        {
            var at = left.FindIndex(known => known.Heading == fault.Heading && known.Kind == fault.Kind && known.Note == note);
            if (at >= 0)
            {
                var known = left[at];
                left.RemoveAt(at);
                return known;
            }

            return new() { Number = next++, Heading = fault.Heading ?? "", Kind = fault.Kind, Note = note };
        }
    }
}
