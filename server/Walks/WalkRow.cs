using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Walks;

/// <summary>A planned or finished walk of one dog.</summary>
internal sealed class WalkRow
{
    public int Id { get; init; }

    public required int DogId { get; init; }

    /// <summary>Who walks; <c>null</c> when they have left since.</summary>
    public required int? WalkerId { get; set; }

    public required DateTimeOffset Start { get; set; }

    public required int Minutes { get; set; }

    /// <summary>What was done and why, in plain words; the owner reads it.</summary>
    public string Note { get; set; } = "";

    public List<WalkSpotRow> Spots { get; init; } = [];
}

/// <summary>A spot on a walk.</summary>
internal sealed class WalkSpotRow
{
    public int WalkId { get; init; }

    public required string SpotId { get; init; }

    /// <summary>Order on the walk, from 0.</summary>
    public int Position { get; init; }
}

internal sealed class WalkRowConfiguration : IEntityTypeConfiguration<WalkRow>
{
    public void Configure(EntityTypeBuilder<WalkRow> builder)
    {
        builder.ToTable("Walks");
        builder.HasIndex(w => w.Start);
        builder.HasOne<DogRow>().WithMany().HasForeignKey(w => w.DogId);
        builder.HasOne<PersonRow>().WithMany().HasForeignKey(w => w.WalkerId).OnDelete(DeleteBehavior.SetNull);
        builder.HasMany(w => w.Spots).WithOne().HasForeignKey(s => s.WalkId);
    }
}

internal sealed class WalkSpotRowConfiguration : IEntityTypeConfiguration<WalkSpotRow>
{
    public void Configure(EntityTypeBuilder<WalkSpotRow> builder)
    {
        builder.ToTable("WalkSpotRow");
        builder.HasKey(s => new { s.WalkId, s.SpotId });
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(s => s.SpotId);
    }
}
