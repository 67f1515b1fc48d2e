using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Core.Diary.Slots;
using School.Web.Platform.Database;

namespace School.Web.Modules.Diary.Waiting;

/// <summary>How the school offers freed times; there is one row.</summary>
internal sealed class WaitingSettings : Versioned
{
    public static readonly Guid Only = new("00000000-0000-7000-8000-000000000004");

    public int HeldMinutes { get; private set; }

    public int AtOnce { get; private set; }

    public int LeadMinutes { get; private set; }

    public int LatelyDays { get; private set; }

    public FairOrder Order { get; private set; }

    public static WaitingSettings From(WaitingRules rules) => new WaitingSettings { Id = Only }.Take(rules);

    public WaitingSettings Take(WaitingRules rules)
    {
        (HeldMinutes, AtOnce, LeadMinutes, LatelyDays, Order) = (rules.HeldMinutes, rules.AtOnce, rules.LeadMinutes, rules.LatelyDays, rules.Order);
        return this;
    }

    public WaitingRules ToRules() => new()
    {
        HeldMinutes = HeldMinutes,
        AtOnce = AtOnce,
        LeadMinutes = LeadMinutes,
        LatelyDays = LatelyDays,
        Order = Order,
    };

    internal sealed class Configuration : IEntityTypeConfiguration<WaitingSettings>
    {
        public void Configure(EntityTypeBuilder<WaitingSettings> entity) => entity.ToTable("waiting_settings", "diary");
    }
}

internal sealed class WaitingDefaults : IModuleDefaults
{
    public async Task AddMissingAsync(SchoolDb db, CancellationToken cancel)
    {
        if (!await db.Set<WaitingSettings>().AnyAsync(cancel))
        {
            db.Add(WaitingSettings.From(new WaitingRules()));
        }
    }
}
