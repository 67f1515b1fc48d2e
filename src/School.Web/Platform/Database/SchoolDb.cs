using Microsoft.AspNetCore.DataProtection.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.ChangeTracking;
using School.Web.Platform.Find;

namespace School.Web.Platform.Database;

/// <summary>The one database. Each module configures its own entities beside them, in its own schema.</summary>
internal sealed class SchoolDb : DbContext, IDataProtectionKeyContext
{
    // Whoever saves inside a transaction undoes all of it, or its own part by a savepoint of its own (Transactions).
    public SchoolDb(DbContextOptions<SchoolDb> options)
        : base(options) => Database.AutoSavepointsEnabled = false;

    public DbSet<DataProtectionKey> DataProtectionKeys => Set<DataProtectionKey>();

    protected override void OnModelCreating(ModelBuilder model)
    {
        model.HasPostgresExtension("btree_gist");
        model.HasPostgresExtension("pg_trgm");
        FindSql.Configure(model);
        model.Entity<DataProtectionKey>().ToTable("data_protection_keys", "platform");
        model.ApplyConfigurationsFromAssembly(typeof(SchoolDb).Assembly);
        foreach (var entity in model.Model.GetEntityTypes().Where(e => typeof(Versioned).IsAssignableFrom(e.ClrType)))
        {
            model.Entity(entity.ClrType).Property(nameof(Versioned.Version)).IsConcurrencyToken();
            model.Entity(entity.ClrType).Property(nameof(Versioned.Id)).ValueGeneratedNever();
        }
    }

    protected override void ConfigureConventions(ModelConfigurationBuilder conventions)
    {
        conventions.Properties<Enum>().HaveConversion<string>();
    }

    public override int SaveChanges(bool acceptAllChangesOnSuccess)
    {
        RaiseVersions();
        return base.SaveChanges(acceptAllChangesOnSuccess);
    }

    public override Task<int> SaveChangesAsync(bool acceptAllChangesOnSuccess, CancellationToken cancellationToken = default)
    {
        RaiseVersions();
        return base.SaveChangesAsync(acceptAllChangesOnSuccess, cancellationToken);
    }

    private void RaiseVersions()
    {
        foreach (var entry in ChangeTracker.Entries<Versioned>())
        {
            if (entry.State == EntityState.Modified && !AlreadyRaised(entry))
            {
                entry.Entity.Touch();
            }
        }
    }

    private static bool AlreadyRaised(EntityEntry<Versioned> entry)
    {
        var version = entry.Property(row => row.Version);
        return version.CurrentValue != version.OriginalValue;
    }
}
