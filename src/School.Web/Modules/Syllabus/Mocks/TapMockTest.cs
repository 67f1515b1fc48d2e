using School.Core.Syllabus.Mocks;
using School.Web.Platform.Access;
using School.Web.Platform.Errors;
using School.Web.Platform.Forms;

namespace School.Web.Modules.Syllabus.Mocks;

/// <summary>One tap on the sheet of a mock test.</summary>
internal abstract record MockTap
{
    /// <summary>One fault more.</summary>
    internal sealed record Fault(string Heading, FaultKind Kind) : MockTap;

    /// <summary>Takes the last fault back.</summary>
    internal sealed record Undo : MockTap;

    internal sealed record Remove(int Number) : MockTap;

    internal sealed record Wording(int Number, string? Words) : MockTap;

    /// <summary>Says that another supervises, or that they are parked, so that the sheet opens while a lesson is on.</summary>
    internal sealed record Open : MockTap;

    internal sealed record Finish(int EtaVerbal, int EtaPhysical, string? Note) : MockTap;
}

/// <summary>Puts a mock test together tap by tap, and finishes it.</summary>
internal sealed class TapMockTest(MockTestEdit edit)
{
    public Task<Outcome<MockTest>> RunAsync(Viewer viewer, Guid id, MockTap tap, CancellationToken cancel) =>
        edit.ChangeAsync(viewer, id, null, mock => TapAsync(viewer, mock, tap, cancel), cancel, notSupervising: tap is MockTap.Open);

    private Task<Refusal?> TapAsync(Viewer viewer, MockTest mock, MockTap tap, CancellationToken cancel)
    {
        var request = MockTestRequest.Of(mock);
        return tap switch
        {
            MockTap.Fault fault => edit.FillAsync(viewer, mock, request with { Faults = [.. request.Faults!, new(fault.Heading, fault.Kind)] }, cancel),
            MockTap.Finish end => edit.FillAsync(viewer, mock, request with { EtaVerbal = end.EtaVerbal, EtaPhysical = end.EtaPhysical, Note = end.Note, Finished = true }, cancel),
            MockTap.Undo => Task.FromResult(Drop(mock, mock.Faults.MaxBy(fault => fault.Number)?.Number, Refusal.Rule("nothing_to_undo", "There is no fault to take back."))),
            MockTap.Remove gone => Task.FromResult(Drop(mock, gone.Number, Refusal.Rule("fault_gone", "This fault was removed already."))),
            MockTap.Open => Task.FromResult<Refusal?>(null),
            MockTap.Wording note => Task.FromResult(Keep(mock, note)),
            _ => throw new InvalidOperationException($"Nothing is known of a tap such as {tap.GetType().Name}."),
        };
    }

    private static Refusal? Drop(MockTest mock, int? number, Refusal none)
    {
        var left = mock.Faults.Where(fault => fault.Number != number).ToList();
        var gone = left.Count == mock.Faults.Count;
        mock.Faults = left;
        return gone ? none : null;
    }

    private static Refusal? Keep(MockTest mock, MockTap.Wording note)
    {
        var errors = new FieldErrors();
        var words = errors.ReadLine("Note", note.Words, MockTest.LongestFaultNote);
        mock.Faults = [.. mock.Faults.Select(fault => fault.Number == note.Number ? fault with { Note = words } : fault)];
        return errors.ToRefusal();
    }
}
