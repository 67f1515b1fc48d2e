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
internal sealed record CallDue(PupilCard Pupil, Unreached Why, Instant? CalledAt, string? CalledBy);

/// <summary>Whom the letters of a halt did not reach, and who has rung them.</summary>
internal sealed class HaltCalls(SchoolDb db, MessageQueries messages, PupilBook pupils, OwnPupils own)
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

        var before = HaltRules.MoreOf(halt).Before.ToDictionary(one => one.LessonId);
        var done = halt.LinesOf().Where(line => line.Act is not ProposalAct.None).Select(line => line.Id).ToList();
        var who = done.Select(id => before[id].PupilId).Distinct().ToList();
        var unreached = await messages.UnreachedPupilsAsync(who, done, Telling, halt.AskedAt, cancel);
        var calls = await db.Set<HaltCall>().AsNoTracking().Where(c => c.HaltId == halt.Id).ToDictionaryAsync(c => c.PupilId, cancel);
        var cards = await pupils.CardsAsync([.. unreached.Keys.Union(calls.Keys)], cancel);
        var theirs = await HadNearAsync(viewer, done.Select(id => before[id]), cancel);
        var veiled = await own.VeilAsync(viewer, cards, cancel);
        return
        [
            .. cards.Values.Select(card => theirs.Contains(card.Id) ? card : veiled[card.Id]).Select(card => new CallDue(
                card, unreached.TryGetValue(card.Id, out var why) ? why : Unreached.ReachedSince, calls.GetValueOrDefault(card.Id)?.CalledAt, calls.GetValueOrDefault(card.Id)?.ByName))
                .OrderBy(call => call.CalledAt is not null).ThenBy(call => call.Pupil.Name, StringComparer.CurrentCulture),
        ];
    }

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
