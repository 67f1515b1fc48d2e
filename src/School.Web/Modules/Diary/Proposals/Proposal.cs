using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using School.Web.Platform.Database;
using School.Web.Platform.Errors;

namespace School.Web.Modules.Diary.Proposals;

internal enum ProposalKind
{
    /// <summary>Others take the lessons of somebody who is ill or of a car that is off the road.</summary>
    Cover,

    /// <summary>Who gets which car.</summary>
    CarAllocation,

    /// <summary>Weekly lessons are booked, moved or cancelled together.</summary>
    Weekly,

    /// <summary>The lessons of a day in an order with less driving.</summary>
    BetterOrder,

    /// <summary>An intensive course: a lesson on each of some days.</summary>
    Course,

    /// <summary>Lessons stopped for the weather or another cause.</summary>
    Halt,

    /// <summary>Two lessons of different pupils change places.</summary>
    Swap,

    /// <summary>A pupil goes to another instructor for good.</summary>
    HandOver,
}

internal enum ProposalState
{
    /// <summary>Still being worked out.</summary>
    Working,

    /// <summary>Worked out, to be looked at.</summary>
    Proposed,

    /// <summary>Carried out.</summary>
    Applied,

    /// <summary>Dropped.</summary>
    Stopped,

    /// <summary>Worked out from a diary that has changed since. Never kept: read from the versions of the diary.</summary>
    Stale,
}

/// <summary>
/// A set of changes that is worked out, kept, looked at and then carried out as a whole or in part. Kept in the database, so that
/// any node may work on it, show it or carry it out. What it asks and holds beside its lines is its kind's own.
/// </summary>
internal sealed class Proposal : Versioned
{
    public required ProposalKind Kind { get; init; }

    /// <summary>What was asked for, as the kind's request in JSON.</summary>
    public required string Ask { get; init; }

    public required Guid AskedBy { get; init; }

    public required Instant AskedAt { get; init; }

    /// <summary>Whose lessons they are where they are one pupil's, who may then look at it and carry it out.</summary>
    public required Guid? PupilId { get; init; }

    public ProposalState State { get; private set; } = ProposalState.Working;

    public int Done { get; private set; }

    public int Of { get; private set; }

    /// <summary>As <see cref="ProposalLine"/>s in JSON; null while they are worked out.</summary>
    public string? Lines { get; private set; }

    /// <summary>What the kind tells beside the lines, in JSON.</summary>
    public string? More { get; private set; }

    /// <summary>Which part of the diary decides about it, as <see cref="DiaryPart"/> in JSON; null where it is judged anew when it is carried out, so that it is never stale.</summary>
    public string? Part { get; private set; }

    /// <summary>The versions of that part when it was worked out.</summary>
    public string Seen { get; private set; } = "";

    public void Propose(WorkedOut found)
    {
        (State, Lines, More) = (ProposalState.Proposed, ProposalJson.Write(found.Lines), found.More is null ? null : ProposalJson.Write(found.More));
        (Part, Seen) = (found.Part is { } part ? ProposalJson.Write(part) : null, found.Seen);
    }

    public Refusal? Apply()
    {
        if (State is not ProposalState.Proposed)
        {
            return NotOpen();
        }

        State = ProposalState.Applied;
        return null;
    }

    /// <summary>Keeps only the lines that were carried out, with the lessons that they made.</summary>
    public void KeepCarriedOut(IReadOnlyList<ProposalLine> lines) => Lines = ProposalJson.Write(lines);

    /// <summary>Keeps what its kind tells beside the lines once it has ended.</summary>
    public void KeepMore(object more) => More = ProposalJson.Write(more);

    public Refusal? Stop()
    {
        if (State is ProposalState.Applied)
        {
            return NotOpen();
        }

        State = ProposalState.Stopped;
        return null;
    }

    /// <summary>Why it cannot be carried out or dropped now.</summary>
    public Refusal NotOpen() => State switch
    {
        ProposalState.Working => Refusal.Conflict("proposal_not_ready", "This is still being worked out. Look again in a moment."),
        ProposalState.Applied => Refusal.Conflict("proposal_applied", "This was carried out already."),
        ProposalState.Stopped => Refusal.Conflict("proposal_stopped", "This was dropped. Ask for it again."),
        ProposalState.Proposed or ProposalState.Stale => ApplyProposal.Stale,
    };

    internal sealed class Configuration : IEntityTypeConfiguration<Proposal>
    {
        public void Configure(EntityTypeBuilder<Proposal> entity)
        {
            entity.ToTable("proposals", "diary", t => t.HasCheckConstraint("proposals_lines_when_ready", "state IN ('Working', 'Stopped') OR lines IS NOT NULL"));
            entity.HasIndex(p => new { p.Kind, p.AskedAt });
            entity.HasIndex(p => p.AskedAt).HasFilter("state = 'Working'");
            // Those asked for long ago, to be cleared.
            entity.HasIndex(p => p.AskedAt, "proposals_asked");
        }
    }
}
