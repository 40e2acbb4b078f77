using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Database.Migrations
{
    /// <inheritdoc />
    public partial class ThresholdsKnowWhoSetThem : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<int>(
                name: "PersonId",
                table: "AgreementThresholds",
                type: "INTEGER",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "PersonId",
                table: "AgreementThresholds");
        }
    }
}
