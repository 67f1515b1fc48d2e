using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Messages.Contracts;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Halts;

/// <summary>A pupil to be rung; null where nobody has yet.</summary>
internal sealed record CallDue(PupilCard Pupil, Unreached Why, Instant? CalledAt, string? CalledBy)
{
    /// <summary>The number is told for a reason only, and none was given.</summary>
    public bool AsksReason => Pupil.NameOnly && !NumberOpen;

    /// <summary>The number alone was opened on this list.</summary>
    public bool NumberOpen { get; init; }
}

/// <summary>Whom the letters of a halt did not reach, and who has rung them.</summary>
internal sealed class HaltCalls(SchoolDb db, MessageQueries messages, PupilBook pupils, OwnPupils own, NumbersByReason numbers)
{
    /// <summary>The letters that tell of a halt: any other about the lesson does not.</summary>
    private static readonly string[] Telling = [LessonMail.Cancelled, LessonMail.Moved, WeeklyMail.Cancelled, WeeklyMail.Moved, ChangesMail.Several];

    /// <summary>Everybody to ring, who is still to be rung first; null before the halt is carried out.</summary>
    public async Task<IReadOnlyList<CallDue>?> OfAsync(Viewer viewer, Proposal halt, CancellationToken cancel)
    {
        if (halt.State is not ProposalState.Applied)
        {
            return null;
        }

        var stopped = Stopped(halt);
        var (done, who) = (stopped.ConvertAll(one => one.LessonId), PupilsOf(stopped));
        var unreached = await messages.UnreachedPupilsAsync(who, done, Telling, halt.AskedAt, cancel);
        var calls = await db.Set<HaltCall>().AsNoTracking().Where(c => c.HaltId == halt.Id).ToDictionaryAsync(c => c.PupilId, cancel);
        var cards = await pupils.CardsAsync([.. unreached.Keys.Union(calls.Keys)], cancel);
        var theirs = await HadNearAsync(viewer, stopped, cancel);
        var veiled = await own.VeilAsync(viewer, cards, cancel);
        var opened = veiled.Values.Any(card => card.NameOnly) ? await numbers.OpenAsync(viewer, halt.Id, cancel) : null;
        return
        [
            .. cards.Values.Select(card => Due(theirs.Contains(card.Id) ? card : veiled[card.Id], card.Phone))
                .OrderBy(call => call.CalledAt is not null).ThenBy(call => call.Pupil.Name, StringComparer.CurrentCulture),
        ];

        CallDue Due(PupilCard seen, string phone)
        {
            var open = seen.NameOnly && opened?.Contains(seen.Id) == true;
            var rung = calls.GetValueOrDefault(seen.Id);
            return new(open ? seen with { Phone = phone } : seen, unreached.TryGetValue(seen.Id, out var why) ? why : Unreached.ReachedSince, rung?.CalledAt, rung?.ByName) { NumberOpen = open };
        }
    }

    /// <summary>Those who may come to stand on the list and whose number the viewer does not see.</summary>
    public async Task<IReadOnlyList<Guid>> ToOpenAsync(Viewer viewer, Proposal halt, CancellationToken cancel)
    {
        var stopped = Stopped(halt);
        var theirs = await HadNearAsync(viewer, stopped, cancel);
        return [.. PupilsOf(stopped).Where(id => !theirs.Contains(id))];
    }

    /// <summary>The lessons that were stopped, as they were booked.</summary>
    private static List<HaltBefore> Stopped(Proposal halt)
    {
        var before = HaltRules.MoreOf(halt).Before.ToDictionary(one => one.LessonId);
        return [.. halt.LinesOf().Where(line => line.Act is not ProposalAct.None).Select(line => before[line.Id])];
    }

    private static List<Guid> PupilsOf(IEnumerable<HaltBefore> stopped) => [.. stopped.Select(one => one.PupilId).Distinct()];

    /// <summary>A stopped lesson of theirs makes its pupil the instructor's own for as long as it would have, or nobody could ring them.</summary>
    private async Task<HashSet<Guid>> HadNearAsync(Viewer viewer, IEnumerable<HaltBefore> stopped, CancellationToken cancel)
    {
        var near = new HashSet<Guid>();
        foreach (var one in stopped.Where(one => one.InstructorId == viewer.InstructorId))
        {
            if (await own.IsNearAsync(new(one.Start, one.End), cancel))
            {
                near.Add(one.PupilId);
            }
        }

        return near;
    }
}

/// <summary>Whom somebody rang.</summary>
internal sealed record TickCallRequest([property: System.Text.Json.Serialization.JsonRequired] Guid PupilId);

/// <summary>Ticks off that a pupil was rung. Once is enough: a second press changes nothing.</summary>
internal sealed class TickHaltCall(SchoolDb db, ProposalReader reader, HaltCalls calls, Audit audit, IClock clock)
{
    public Task<Outcome<Proposal>> RunAsync(Viewer viewer, Guid id, TickCallRequest request, CancellationToken cancel) => db.InTransactionAsync<Proposal>(
        async cancel =>
        {
            await db.LockAsync([MakeProposal.LockOf(id)], cancel);
            if (await reader.FindAsync(viewer, id, cancel, ProposalKind.Halt) is not { } halt)
            {
                return Refusal.NotFound("proposal");
            }

            if ((await calls.OfAsync(viewer, halt, cancel))?.FirstOrDefault(call => call.Pupil.Id == request.PupilId) is not { } due)
            {
                return Refusal.NotFound("pupil");
            }

            if (due.CalledAt is null)
            {
                db.Add(new HaltCall { HaltId = id, PupilId = request.PupilId, CalledAt = clock.GetCurrentInstant(), ByPersonId = viewer.PersonId, ByName = viewer.Name });
                audit.Note(viewer, "halt.called", request.PupilId, "Rang about lessons that were stopped.");
            }

            return halt;
        },
        cancel);
}
