using Microsoft.EntityFrameworkCore;
using NodaTime;
using School.Core.Diary.Charges;
using School.Core.Diary.Slots;
using School.Web.Modules.Diary.Lessons;
using School.Web.Modules.Diary.Mail;
using School.Web.Modules.Diary.Proposals;
using School.Web.Modules.Diary.Search;
using School.Web.Modules.Pupils.Contracts;
using School.Web.Modules.Records.Contracts;
using School.Web.Modules.School.Contracts;
using School.Web.Platform.Access;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Swaps;

/// <summary>
/// Two lessons of different pupils take each other's start and instructor; each keeps its length, kind and places. Free of charge, since the school asked.
/// Whether both fit is judged with both moved, when it is proposed and again when it is carried out, so it is never stale. Nobody on the waiting list is offered the times.
/// </summary>
internal sealed class SwapRules(
    SchoolDb db, ReadOnce once, ChangeLessons changes, SlotFinder slots, PupilBook pupils, LessonLocks locks, SwapEnds ends, Audit audit, SchoolInfo school, IClock clock) : ProposalRules
{
    private static readonly Refusal OnlyLooking = Refusal.Rule("preview", "Nothing was moved.");

    private static readonly ProposalCharge Free = new(ChargeCode.FreeSchool, Chargeable: false);

    public override ProposalKind Kind => ProposalKind.Swap;

    public static SwapRequest AskOf(Proposal proposal) => ProposalJson.Read<SwapRequest>(proposal.Ask);

    public static SwapMore MoreOf(Proposal proposal) => ProposalJson.Read<SwapMore>(proposal.More!);

    public override async Task<Outcome<Found>> WorkOutAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var look = await LookAsync(viewer, proposal, cancel);
        return new Found(new(look.Lines, null, "", look.More));
    }

    /// <summary>What it would come to now. Tries it in a transaction that is undone, so nothing may be tracked yet that is still needed.</summary>
    public async Task<SwapLook> LookAsync(Viewer viewer, Proposal proposal, CancellationToken cancel)
    {
        var ask = AskOf(proposal);
        var (before, why, places) = (proposal.More is null ? null : MoreOf(proposal), new Dictionary<Guid, Refusal>(), new Dictionary<Guid, LessonPlace>());
        var lessons = await Both(ask).AsNoTracking().ToDictionaryAsync(l => l.Id, cancel);
        foreach (var lesson in lessons.Values)
        {
            if (NotNow(lesson, before) is { } refusal)
            {
                why[lesson.Id] = refusal;
            }
        }

        if (why.Count == 0)
        {
            var tried = await db.InTransactionAsync<SwapRequest>(
                async cancel =>
                {
                    why.Clear();
                    var both = await Both(ask).ToDictionaryAsync(l => l.Id, cancel);
                    foreach (var (id, refusal) in await ExchangeAsync(viewer, both[ask.LessonId], both[ask.WithLessonId], new(), cancel))
                    {
                        why[id] = refusal;
                    }

                    foreach (var lesson in both.Values)
                    {
                        places[lesson.Id] = new(lesson.InstructorId, lesson.CarId, lesson.During);
                    }

                    return OnlyLooking;
                },
                cancel);
            once.Forget();
            // What the database itself refused stands at neither of them alone.
            if (why.Count == 0 && tried.Refusal is { } refused && refused.Code != OnlyLooking.Code)
            {
                why[ask.LessonId] = refused;
            }
        }

        if (why.Count > 0)
        {
            Array.ForEach(ask.Both, id => why.TryAdd(id, SwapRefusals.OtherStays));
        }

        var lines = ask.Both.Select(id => why.TryGetValue(id, out var refusal)
            ? new ProposalLine(id, ProposalAct.None, [id], lessons[id].InstructorId, lessons[id].CarId, null, null, [new(null, refusal.Code, refusal.Telling.ToStaff)])
            : new ProposalLine(id, ProposalAct.Move, [id], places[id].InstructorId, places[id].CarId, places[id].During.Start, Free, []));
        return new([.. lines], before ?? new([.. ask.Both.Select(id => Before(lessons[id], lessons[ask.Other(id)], why.Count > 0 ? null : places[id]))]), why);
    }

    public override async Task<Refusal?> NotYetAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ApplyProposalRequest request, CancellationToken cancel)
    {
        var answers = await db.Set<SwapAnswer>().Where(a => a.ProposalId == proposal.Id).ToListAsync(cancel);
        return lines.Count != SwapRequest.Lessons ? SwapRefusals.Whole
            : answers.Count == 0 ? CannotBe(lines)
            : answers.Any(a => a.LapsesAt <= clock.GetCurrentInstant()) ? SwapRefusals.Lapsed
            : !request.Asked && answers.Any(a => a.Reply is not SwapReply.Agreed)
                ? Refusal.Rule(AskFirst.Code, "Not both pupils have agreed yet. Wait for their answers, or ring them and confirm that they agree.")
            : null;
    }

    public override async Task LockAsync(Proposal proposal, IReadOnlyList<ProposalLine> lines, IEnumerable<string> others, CancellationToken cancel) =>
        await LockAsync(AskOf(proposal), others, cancel);

    public async Task LockAsync(SwapRequest ask, IEnumerable<string> others, CancellationToken cancel)
    {
        var lessons = await Both(ask).AsNoTracking().ToListAsync(cancel);
        var zone = (await school.GetAsync(cancel)).Zone;
        await locks.TakeAsync(
            lessons.Select(l => l.PupilId), [.. lessons.Select(l => new DiaryDay(l.InstructorId, l.StartsAt.InZone(zone).Date))], lessons.Select(l => l.CarId), cancel, others);
        once.Forget();
    }

    public override async Task<Refusal?> CarryOutAsync(Viewer viewer, Proposal proposal, IReadOnlyList<ProposalLine> lines, ChangesMade made, CancellationToken cancel)
    {
        var (ask, more, now) = (AskOf(proposal), MoreOf(proposal), clock.GetCurrentInstant());
        var lessons = await Both(ask).ToDictionaryAsync(l => l.Id, cancel);
        // Who asked for two diaries may keep only one of them by now.
        if (lessons.Values.Any(l => !viewer.KeepsDiaryOf(l.InstructorId)))
        {
            return Refusal.NotFound("lesson");
        }

        foreach (var lesson in lessons.Values)
        {
            if (NotNow(lesson, more) is { } changed)
            {
                return changed;
            }
        }

        var answers = await db.Set<SwapAnswer>().Where(a => a.ProposalId == proposal.Id).ToListAsync(cancel);
        var noted = answers.FindAll(a => a.Reply is not SwapReply.Agreed);
        noted.ForEach(a => a.Answer(SwapReply.Agreed, SwapHow.Phone, viewer, now));
        await ends.CloseAsync(proposal, answers, cancel);
        var why = await ExchangeAsync(viewer, lessons[ask.LessonId], lessons[ask.WithLessonId], made, cancel);
        if (why.Count > 0)
        {
            var refusal = why.Values.First();
            return refusal with { Telling = refusal.Telling.Map(words => $"Nothing was moved. {words}") };
        }

        var facts = await school.GetAsync(cancel);
        proposal.KeepCarriedOut([.. ask.Both.Select(id => lessons[id]).Select(l => new ProposalLine(l.Id, ProposalAct.Move, [l.Id], l.InstructorId, l.CarId, l.StartsAt, Free, []))]);
        audit.Note(
            viewer, "swap.apply", ask.LessonId,
            $"Swapped the lessons of {facts.Moment(more.Of(ask.LessonId).Start)} and {facts.Moment(more.Of(ask.WithLessonId).Start)}, {AgreedWords(answers)}.");
        return null;
    }

    public override async Task DroppedAsync(Proposal proposal, CancellationToken cancel)
    {
        var answers = await db.Set<SwapAnswer>().Where(a => a.ProposalId == proposal.Id && a.Open).ToListAsync(cancel);
        if (answers.Count > 0)
        {
            await ends.EndAsync(proposal, answers, SwapEnd.Dropped, _ => true, cancel);
        }
    }

    /// <summary>
    /// Moves both, saves and then judges each where it stands: before that each was judged without the other, which may be on the way. Answers what does not go; the caller undoes it then.
    /// </summary>
    private async Task<Dictionary<Guid, Refusal>> ExchangeAsync(Viewer viewer, Lesson one, Lesson other, ChangesMade made, CancellationToken cancel)
    {
        var why = new Dictionary<Guid, Refusal>();
        var zone = (await school.GetAsync(cancel)).Zone;
        var cards = await pupils.CardsAsync([one.PupilId, other.PupilId], cancel);
        var offers = new List<(Lesson Lesson, SlotOffer Offer)>();
        foreach (var (lesson, place) in new[] { (one, other), (other, one) })
        {
            var question = SlotQuestion.ToMove(lesson, place.StartsAt.InZone(zone).Date) with { LeavingLessonId = place.Id };
            var verdict = await slots.CheckAsync(question, cards[lesson.PupilId], place.InstructorId, place.StartsAt, viewer, cancel);
            if (verdict.Ok)
            {
                offers.Add((lesson, verdict.Value));
            }
            else
            {
                why[lesson.Id] = verdict.Refusal;
            }
        }

        if (why.Count > 0)
        {
            return why;
        }

        var (first, second) = (offers[0].Offer, offers[1].Offer);
        if (first.InstructorId == second.InstructorId && first.Start < second.End && second.Start < first.End)
        {
            return new() { [one.Id] = SwapRefusals.Overlap, [other.Id] = SwapRefusals.Overlap };
        }

        foreach (var (lesson, offer) in offers)
        {
            var to = new LessonPlace(offer.InstructorId, offer.CarId, new(offer.Start, offer.End)) { Breaks = offer.Breaks };
            var moved = await changes.MoveAsync(viewer, lesson, to, ChargeCause.School, cancel, MovedFor.Swap, offers: false);
            if (!moved.Ok)
            {
                return new() { [lesson.Id] = moved.Refusal };
            }

            made.Moved(moved.Value);
        }

        await db.SaveSwappingAsync(cancel);
        foreach (var lesson in new[] { one, other })
        {
            var question = SlotQuestion.ToMove(lesson, lesson.StartsAt.InZone(zone).Date) with { OwnCarId = lesson.CarId };
            var verdict = await slots.CheckAsync(question, cards[lesson.PupilId], lesson.InstructorId, lesson.StartsAt, viewer, cancel);
            if (!verdict.Ok)
            {
                why[lesson.Id] = verdict.Refusal;
            }
        }

        return why;
    }

    private IQueryable<Lesson> Both(SwapRequest ask) => db.Set<Lesson>().Where(l => l.Id == ask.LessonId || l.Id == ask.WithLessonId);

    private Refusal? NotNow(Lesson lesson, SwapMore? before) =>
        lesson.NotOpen("swapped") ?? (before?.Of(lesson.Id).Stands(lesson) == false ? SwapRefusals.Changed : lesson.StartsAt <= clock.GetCurrentInstant() ? SwapRefusals.Begun : null);

    private static SwapBefore Before(Lesson lesson, Lesson other, LessonPlace? to) => new(
        lesson.Id, lesson.PupilId, lesson.InstructorId, lesson.StartsAt, lesson.EndsAt, other.InstructorId, other.StartsAt, to?.During.End ?? other.StartsAt + lesson.During.Duration);

    private static Refusal CannotBe(IReadOnlyList<ProposalLine> lines)
    {
        var why = lines.SelectMany(line => line.WhyNot).Where(why => why.Code != SwapRefusals.OtherStays.Code).Select(why => why.Sentence).Distinct();
        return Refusal.Rule("swap_cannot_be", $"These lessons cannot change places: {string.Join(" ", why)}");
    }

    private static string AgreedWords(List<SwapAnswer> answers) => answers.Count(a => a.How is SwapHow.Phone) switch
    {
        0 => "both pupils agreed here",
        1 => "one pupil agreed here and one by phone",
        _ => "both pupils agreed by phone",
    };
}

/// <summary>What a swap would come to: its lines, what it tells beside them, and why a lesson stays.</summary>
internal sealed record SwapLook(IReadOnlyList<ProposalLine> Lines, SwapMore More, IReadOnlyDictionary<Guid, Refusal> WhyNot)
{
    public bool Fits => WhyNot.Count == 0;
}
