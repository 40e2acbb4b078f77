using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Database.Migrations
{
    /// <inheritdoc />
    public partial class ColdLimitsOfSpots : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<double>(
                name: "ColdLimitCelsius",
                table: "Spots",
                type: "REAL",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "ColdLimitChangedBy",
                table: "Spots",
                type: "TEXT",
                nullable: false,
                defaultValue: "Unknown");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "ColdLimitCelsius",
                table: "Spots");

            migrationBuilder.DropColumn(
                name: "ColdLimitChangedBy",
                table: "Spots");
        }
    }
}
