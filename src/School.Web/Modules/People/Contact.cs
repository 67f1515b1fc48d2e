using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using School.Web.Modules.People.Contracts;
using School.Web.Platform.Database;

namespace School.Web.Modules.People;

/// <summary>Somebody beside pupils: a parent, a guardian, a partner, an employer. What they are to each pupil stands with the pupil.</summary>
internal sealed class Contact : Versioned
{
    public required string Name { get; set; }

    /// <summary>Empty where they are reached by phone alone.</summary>
    public required string Email { get; set; }

    /// <summary>E.164; empty where they are reached by e-mail alone.</summary>
    public required string Phone { get; set; }

    public required ContactKind Kind { get; set; }

    internal sealed class Configuration : IEntityTypeConfiguration<Contact>
    {
        public void Configure(EntityTypeBuilder<Contact> entity)
        {
            entity.ToTable("contacts", "people");
            // Lists by name, and a part of a name wherever it stands.
            entity.HasIndex(c => new { c.Name, c.Id });
            entity.HasIndex(c => c.Name, "contacts_name_parts").HasMethod("gin").HasOperators("gin_trgm_ops").HasDatabaseName("contacts_name_parts");
        }
    }
}
